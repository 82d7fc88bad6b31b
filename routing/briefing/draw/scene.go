package draw

import (
	"fmt"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/snapshot"
)

// Scene is one walk of a plan, measured once, ready to be told and drawn. Not
// changed once made; may be shared between goroutines.
type Scene struct {
	Snap  *snapshot.Snapshot
	Plan  *routing.Plan
	Walk  *routing.Walk
	Dog   *exposure.Dog
	Words briefing.Words
	Band  *Band // its Room has no Need where the dog reacts to nothing
	Legs  []briefing.LegText

	index int
}

// NewScene measures walk number index of the plan, counted from 0, for the kind
// that leads its reactions; a kind given goes before that. The plan's ground is what the
// walk's is compared with. The error says which
// walk there is none of.
func NewScene(snap *snapshot.Snapshot, plan *routing.Plan, index int, dog *exposure.Dog, words briefing.Words, kind *exposure.Kind) (*Scene, error) {
	if index < 0 || index >= len(plan.Walks) {
		return nil, fmt.Errorf("walk %d: the plan has %d walks, counted from 0", index, len(plan.Walks))
	}
	s := &Scene{Snap: snap, Plan: plan, Walk: &plan.Walks[index], Dog: dog, Words: words, index: index}
	room := Room{PaceMPS: dog.PaceMPS()}
	if kind != nil {
		room = roomFor(*kind, dog)
	} else if k, ok := briefing.Lead(s.Walk, dog); ok {
		room = roomFor(k, dog)
	}
	s.Band = newBand(s.Walk, snap, room, &plan.Ground.Rank)
	s.Legs = words.Legs(s.Walk, dog)
	return s, nil
}

// needM is the room needed in metres, 0 for a dog that reacts to nothing.
func (s *Scene) needM() float64 { return s.Band.Room.Need.WorkingM }

// needText is the label of the blue scale bar.
func (s *Scene) needText() string {
	w := s.Words
	return w.Say("map.scale.need", "distance", w.Own(s.needM()), "dog", briefing.Clip(w.Dog(s.Dog), briefing.MostNameRunes), "what", w.Noun(s.Band.Room.Kind, s.Dog, "many"))
}
