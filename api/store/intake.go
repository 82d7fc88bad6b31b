package store

import "wideberth/exposure"

// Answers are what a person says of a dog and one kind or category before any
// walk. Null is "don't know", a valid answer. The order is that of a trigger
// coming closer: each distance is at most the one before.
type Answers struct {
	NoticesM     *float64 `json:"notices_at" required:"false" doc:"From how far the dog notices; null if not known." example:"60"`
	TakesFoodM   *float64 `json:"takes_food_at" required:"false" doc:"From how far it still takes food and turns back." example:"40"`
	StopsEatingM *float64 `json:"stops_eating_at" required:"false" doc:"At how far it stops eating." example:"25"`
	ReactsM      *float64 `json:"reacts_at" required:"false" doc:"At how far it barks, lunges or freezes." example:"18"`
	Unit         string   `json:"unit,omitempty" enum:"m,ft" doc:"Of the four distances; metres if left out."`
}

// Prior is what was said before any walk: distances in metres, how unsure they are
// as the standard deviation of their natural log, and whether anything was known.
type Prior struct {
	exposure.Need
	LogSD float64 `json:"log_sd" doc:"How unsure, as the standard deviation of the natural log of the working distance."`
	Known bool    `json:"known" doc:"Whether anything was said; else the stated wide default."`
}
