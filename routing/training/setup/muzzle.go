package setup

import (
	"time"

	"wideberth/exposure"
)

// Helper is what is known of who is met, beside its kind.
type Helper struct {
	Name          string // "" where nobody said
	ID            string // of a kept dog, "" for others
	Bite          bool   // a dog that has bitten
	MuzzleTrained bool   // a dog that wears a muzzle calmly, as it was taught to
	Word          *Word  // of a trainer, nil for none
}

// Word is what a trainer said in writing of a dog and a helper, so that they may meet
// although the rule of bites and muzzles would refuse it.
type Word struct {
	ID   string // of the record
	By   string // who said it
	At   time.Time
	Text string
}

// Unmuzzled says which of the two wants a muzzle that it was taught to wear: where one of two
// dogs has bitten, both of them; where the helper is none, a dog that has bitten itself
// (common practice). Neither where nobody has bitten.
func (w *Wish) Unmuzzled() (dog, helper bool) {
	meetsDog := w.Kind.Category() == exposure.Dogs
	bitten := w.Dog.Cautions.BiteHistory
	either := bitten || meetsDog && w.Helper.Bite
	return either && !w.Dog.Cautions.MuzzleTrained, meetsDog && either && !w.Helper.MuzzleTrained
}

// needsWord says that the two may meet only by a trainer's word.
func (w *Wish) needsWord() bool {
	dog, helper := w.Unmuzzled()
	return dog || helper
}

// Standing is the word that the meeting rests on, nil where it needs none.
func (w *Wish) Standing() *Word {
	if w.needsWord() {
		return w.Helper.Word
	}
	return nil
}
