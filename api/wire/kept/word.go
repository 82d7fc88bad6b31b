package kept

import (
	"time"

	"wideberth/osmdata/fault"
)

// WordInput is what a trainer says in writing of one meeting of two dogs.
type WordInput struct {
	Helper    string `json:"helper,omitempty" maxLength:"80" doc:"Who is met: the name of the helper, as the meeting names it; left out with helper_dog." example:"Tilly"`
	HelperDog string `json:"helper_dog,omitempty" maxLength:"80" doc:"Or the id of a kept dog."`
	Words     string `json:"words" minLength:"1" maxLength:"500" doc:"Why the two may meet all the same, and how." example:"Basket muzzle on Oro from next week. Until then no nearer than 40 m, I am there."`
}

// Word is what a trainer said in writing, as it is kept.
type Word struct {
	ID     string    `json:"id"`
	Dog    string    `json:"dog"`
	Person string    `json:"person" doc:"Who said it."`
	By     string    `json:"by" doc:"Their name then: it stands when they have left."`
	At     time.Time `json:"at"`
	WordInput
	Withdrawn *time.Time `json:"withdrawn,omitempty" doc:"It was taken back then, and allows nothing since."`
}

// mostWords fit on the sheet of a set-up.
const mostWords = 500

// Check says what cannot be kept of a word.
func (in *WordInput) Check() fault.Problems {
	wrong := CheckName("/helper", in.Helper, in.HelperDog == "")
	wrong = append(wrong, CheckKey("/helper_dog", in.HelperDog)...)
	if in.Helper != "" && in.HelperDog != "" {
		wrong = append(wrong, fault.Problem{Pointer: "/helper", Value: in.Helper, Mend: "give a name, or the id of a kept dog in helper_dog, not both"})
	}
	if ps := checkText("/words", in.Words, mostWords, true); ps != nil {
		if ps[0].Value == "" {
			ps[0].Mend = "missing: say in writing why the two may meet"
		}
		wrong = append(wrong, ps...)
	}
	return wrong
}

// Allows says that a word stands and is about a dog and a helper.
func (w *Word) Allows(dog, helper, helperDog string) bool {
	return w.Withdrawn == nil && w.Dog == dog && w.Helper == helper && w.HelperDog == helperDog
}

// Share is what is known of a key that opens one dog; the key itself is shown once and
// kept nowhere.
type Share struct {
	ID      string    `json:"id"`
	Dog     string    `json:"dog"`
	Label   string    `json:"label" example:"Family Birch"`
	Created time.Time `json:"created"`
	Expires time.Time `json:"expires"`
	Revoked bool      `json:"revoked"`
	Seen    string    `json:"seen,omitempty" doc:"Day of its last use."`
}
