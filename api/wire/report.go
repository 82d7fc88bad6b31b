package wire

import (
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure/learning"
)

// KeptReport is a source as people speak of it, with what is thought of it now.
type KeptReport struct {
	kept.Report
	Spoken   time.Time `json:"spoken" doc:"When somebody last confirmed or disputed it."`
	Confirm  int       `json:"confirmed_by" doc:"People who say it is there."`
	Dispute  int       `json:"disputed_by"`
	Presence float64   `json:"presence" doc:"Probability that it is there: fades unless somebody confirms it."`
	Live     bool      `json:"live" doc:"It counts in plans."`
}

// NewKeptReport tells a report with what is thought of it.
func NewKeptReport(r kept.Report, s learning.Standing) KeptReport {
	return KeptReport{r, s.Last, s.Confirm, s.Dispute, s.Presence, s.Live}
}
