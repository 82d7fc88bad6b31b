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

// CountsOnMap is what was counted on one map, what that says of its levels, and the zone
// of the map.
type CountsOnMap struct {
	All    []exposure.Count
	Report *counts.Report
	Zone   *time.Location
}

// NewCountReport tells what was counted on maps, and how many counts lie on none of them.
func NewCountReport(maps []CountsOnMap, lost int) CountReport {
	out := CountReport{Lines: []CountLine{}, Scores: []CountScore{}, OffTheMap: lost, Attribution: Attribution}
	var lines []counts.Line
	for _, m := range maps {
		out.OffTheMap += m.Report.Lost
		lines = append(lines, m.Report.Lines...)
		for _, l := range m.Report.Lines {
			c := &m.All[l.Count]
			out.Lines = append(out.Lines, CountLine{c.Start.In(m.Zone).Format("2006-01-02T15:04:05Z07:00"), c.Minutes, l.Street, l.Of.String(),
				l.Counted, round(l.Predicted, 1), round(l.Bound, 1)})
		}
	}
	scores := counts.ScoresOf(lines)
	for of := range exposure.Sounds {
		x := scores[of]
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
