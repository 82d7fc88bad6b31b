package routing

import (
	"wideberth/routing/replay"
)

// Replay writes a timetable down for the independent check: lines, times and
// rules, nothing of how it was planned.
func (t *Timetable) Replay() ([]replay.Walk, replay.Rules) {
	r := replay.Rules{LateS: lateS, SlowShare: slowPace, FastShare: fastPace, Gate: t.At, ZoneM: t.ZoneM, Together: t.Together}
	if t.Slack == Holds {
		r.LateS = 0
	}
	walks := make([]replay.Walk, len(t.Rows))
	for i := range t.Rows {
		row := &t.Rows[i]
		w := replay.Walk{Dog: row.Dog, Line: row.Line, ProgressS: row.ProgressS, StartS: row.Leave.Sub(t.Start).Seconds(), NeedM: row.NeedM}
		for _, h := range row.Holds {
			w.Holds = append(w.Holds, replay.Hold{ProgressS: h.ProgressS, NotBeforeS: h.NotBefore.Sub(t.Start).Seconds()})
		}
		walks[i] = w
	}
	return walks, r
}
