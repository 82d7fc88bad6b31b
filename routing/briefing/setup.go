package briefing

import (
	"cmp"
	"strconv"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/routing/briefing/message"
	"wideberth/routing/training/setup"
)

// SetupLine is a line of a set-up's timetable as it is printed: when, and what.
type SetupLine struct{ When, What string }

// Setup tells what one of the two does, minute by minute; at is when both stand on the
// first line.
func (w Words) Setup(s *setup.Setup, role setup.Role, at time.Time) (out []SetupLine) {
	t := &s.Clock.Dog
	if role == setup.HelperSide {
		t = &s.Clock.Helper
	}
	clock := func(e setup.Entry) string { return w.Clock(at.Add(time.Duration(e.Min) * time.Minute)) }
	for i := 0; i < len(t.Entries); i++ {
		e := t.Entries[i]
		l, key := s.Lines[e.Line], setupKey(role, e)
		then := clock(e)
		if i+1 < len(t.Entries) && toldTogether(e, t.Entries[i+1]) {
			i++
			then = clock(t.Entries[i])
		}
		out = append(out, SetupLine{clock(e), w.Say(key, "line", e.Line+1, "distance", w.Own(l.NeedM), "minutes", w.Minutes(s.DogIn.LengthM()), "then", then)})
	}
	return out
}

// toldTogether says that two entries are told in one line: out and back, nearer and there.
func toldTogether(a, b setup.Entry) bool {
	return a.Do == setup.DoOut && b.Do == setup.DoBack || a.Do == setup.DoNearer && b.Do == setup.DoStand
}

// setupKey is the key of the text of an entry.
func setupKey(role setup.Role, e setup.Entry) string {
	switch {
	case role == setup.HelperSide && e.Do == setup.DoOut:
		return "setup.helper.out." + string(e.Mode)
	case role == setup.HelperSide:
		return "setup.helper." + string(e.Do)
	case e.Do == setup.DoOut:
		return "setup.dog.out." + string(e.Mode)
	}
	return "setup.dog." + string(e.Do)
}

// SetupLines tells how far off each of the dog's lines is: "line 1: 76 m (2 times)".
func (w Words) SetupLines(s *setup.Setup) (out []string) {
	for i, l := range s.Lines {
		out = append(out, w.Say("setup.line", "line", i+1, "distance", w.Own(l.NeedM), "times", strconv.FormatFloat(l.Multiple, 'f', -1, 64)))
	}
	return out
}

// SetupSigns are the signs of the two, and when to stop.
func (w Words) SetupSigns() []string {
	return []string{w.Say("setup.sign.ready"), w.Say("setup.sign.stop"), w.Say("setup.sign.twice"), w.Say("setup.sign.between")}
}

// SetupGround says what is known of the ground.
func (w Words) SetupGround(s *setup.Setup) string {
	text := w.Say("setup.ground")
	if s.Dark {
		text += " " + w.Say("setup.dark")
	}
	if !s.Apart {
		text += " " + w.Say("setup.together")
	}
	if s.Screen == nil {
		return text + " " + w.Say("setup.screen.car")
	}
	return text + " " + w.Say("setup.screen", "distance", w.Distance(s.Screen.DistanceM(s.Lines[0].At[0])))
}

// SetupElse tells what else comes near, the most important first.
func (w Words) SetupElse(s *setup.Setup, d *exposure.Dog) string {
	if len(s.Else) == 0 {
		return w.Say("setup.else.none")
	}
	return w.Say("setup.else", "x", message.Fixed(s.X, 2), "what", w.Noun(s.Else[0].Kind, d, "many"))
}

// SetupLack says why there is none.
func (w Words) SetupLack(f *setup.Found) string {
	switch {
	case f.InReach == 0:
		return w.Say("setup.lack.reach")
	case f.Quiet == 0:
		return w.Say("setup.lack.quiet", "n", f.InReach)
	case f.Laid == 0:
		return w.Say("setup.lack.room", "n", f.LookedAt)
	}
	return w.Say("setup.lack.else", "n", f.Laid, "least", message.Fixed(f.LeastX, 2), "most", message.Fixed(f.MaxX, 2))
}

// SetupProof tells what the replay found.
func (w Words) SetupProof(s *setup.Setup, p *setup.Proof) string {
	key := "setup.proof"
	if !s.Apart {
		key = "setup.proof.together"
	}
	return w.Say(key, "runs", p.Runs, "least", w.Own(p.LeastM), "loose", w.Own(p.LooseM))
}

// SetupWord tells what a trainer said in writing of two that meet, who said it and when.
func (w Words) SetupWord(x *setup.Word) string {
	return w.Say("setup.word", "by", Clip(x.By, MostNameRunes), "date", w.Date(x.At), "text", x.Text)
}

// SetupMuzzles tells who of the two is muzzle-trained, where one of them has bitten; nothing
// where nobody has.
func (w Words) SetupMuzzles(wish *setup.Wish) (out []string) {
	meetsDog := wish.Kind.Category() == exposure.Dogs
	if !wish.Dog.Cautions.BiteHistory && !(meetsDog && wish.Helper.Bite) {
		return nil
	}
	dog, helper := wish.Unmuzzled()
	tell := func(who string, lacks bool) {
		key := "setup.muzzle.yes"
		if lacks {
			key = "setup.muzzle.no"
		}
		out = append(out, w.Say(key, "who", who))
	}
	tell(Clip(Sentence(w.Dog(&wish.Dog)), MostNameRunes), dog)
	if meetsDog {
		tell(Clip(cmp.Or(wish.Helper.Name, w.Say("setup.muzzle.helper")), MostNameRunes), helper)
	}
	return out
}

// Respite tells what a bad day asks of a day after it.
func (w Words) Respite(r *learning.Respite) string {
	switch {
	case r.Harm:
		return w.Say("respite.harm", "day", w.Date(r.Day))
	case r.Rest:
		return w.Say("respite.rest", "day", w.Date(r.Day), "n", r.Times)
	}
	return w.Say("respite.far", "day", w.Date(r.Day), "times", times(learning.FarFrom), "n", r.Times)
}
