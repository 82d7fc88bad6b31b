package wire

import (
	"time"

	"wideberth/exposure"
	"wideberth/routing/counts"
)

// CountReport says how far the predicted levels lie from what was counted by hand: by
// people of the account, and in the file that the map was imported with.
type CountReport struct {
	Lines       []CountLine  `json:"lines"`
	Scores      []CountScore `json:"scores" doc:"By what was counted, of predictions from the map alone."`
	OffTheMap   int          `json:"off_the_map" doc:"Counts that lie on no way of this map."`
	Attribution string       `json:"attribution"`
}

// CountLine is what one count says of one kind.
type CountLine struct {
	Start     string  `json:"start"`
	Minutes   float64 `json:"minutes"`
	Street    string  `json:"street"`
	What      string  `json:"what" enum:"dogs,people,wheels,traffic"`
	Counted   float64 `json:"counted"`
	Predicted float64 `json:"predicted" doc:"From the map alone, for the same place, hour and month."`
	Bound     float64 `json:"with_all_counts"`
}

// CountScore is how far predictions lie from counts.
type CountScore struct {
	What    string  `json:"what" enum:"dogs,people,wheels,traffic"`
	N       int     `json:"n" doc:"Counts with somebody both counted and predicted."`
	Mean    float64 `json:"predicted_over_counted" doc:"Geometric mean; 1 is right."`
	Scatter float64 `json:"scatter,omitempty" doc:"Factor; left out where there is but one."`
	Within3 int     `json:"within_three" doc:"Of n: predictions within a factor of three."`
}

// NewCountReport tells a report; all are the counts that it is about, and zone that of
// the map.
func NewCountReport(all []exposure.Count, r *counts.Report, zone *time.Location) CountReport {
	out := CountReport{Lines: []CountLine{}, Scores: []CountScore{}, OffTheMap: r.Lost, Attribution: Attribution}
	for _, l := range r.Lines {
		c := &all[l.Count]
		out.Lines = append(out.Lines, CountLine{c.Start.In(zone).Format("2006-01-02T15:04:05Z07:00"), c.Minutes, l.Street, l.Of.String(),
			l.Counted, round(l.Predicted, 1), round(l.Bound, 1)})
	}
	for of := range exposure.Sounds {
		x := r.Scores[of]
		if x.N == 0 {
			continue
		}
		score := CountScore{What: of.String(), N: x.N, Mean: round(x.GM, 2), Within3: x.Within3}
		if x.N > 1 {
			score.Scatter = round(x.Scatter, 2)
		}
		out.Scores = append(out.Scores, score)
	}
	return out
}
