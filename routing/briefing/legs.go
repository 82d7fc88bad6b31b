package briefing

import (
	"math"
	"slices"
	"strings"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/network"
	"wideberth/routing/training"
)

// LegText is one leg in words, with the watch points on it.
type LegText struct {
	Number int // 1, 2, 3 ... in walking order
	Name   string
	Turn   string // "Right, 390 m"
	Room   string // "Keep right: 8 m"
	Level  string // "calm, level 1 of 4"
	Text   string // the whole of it, for lists and screen readers
	FromM  float64
	ToM    float64
	StartS float64
	Watch  []WatchText
	Brief  string // "Right, Race Walk", "On: Race Walk"
	Plain  bool   // calm, so that its room may be left out where space is short
}

// LengthM is how long the leg is.
func (l *LegText) LengthM() float64 { return l.ToM - l.FromM }

// WatchText is one place to be ready at, in words.
type WatchText struct {
	Number int    // 1, 2, 3 ... in walking order
	Head   string // "2 Dog field, 17 min."
	Text   string // what to expect and what to do
	Deed   string // only what to do
	FromM  float64
	AtS    float64
}

// scrapM is the length below which a nameless leg is part of the corner and not
// worth a line: a crossing, the cut across a verge.
const scrapM = 25

// Legs tells a walk leg by leg. Pieces of one street are one leg, and scraps of
// nameless way belong to the leg that follows.
func (w Words) Legs(walk *routing.Walk, d *exposure.Dog) []LegText {
	legs := joinLegs(walk.Legs)
	room := exposure.Need{}
	if k, ok := Lead(walk, d); ok {
		room = d.Need(k)
	}
	watch := w.Watch(walk)
	out := make([]LegText, 0, len(legs))
	atM := 0.0
	for i := range legs {
		l := &legs[i]
		t := w.leg(l, i, i == len(legs)-1 && Homeward(walk), room, d)
		t.FromM, t.ToM = atM, atM+l.LengthM
		for len(watch) > 0 && (watch[0].FromM < t.ToM || i == len(legs)-1) {
			t.Watch = append(t.Watch, watch[0])
			watch = watch[1:]
		}
		atM = t.ToM
		out = append(out, t)
	}
	return out
}

// homeward says whether a walk ends where it begins.
func Homeward(walk *routing.Walk) bool {
	return walk.Shape != routing.Way && len(walk.Line) > 1 && walk.Line[0].DistanceM(walk.Line[len(walk.Line)-1]) < 5
}

// joinLegs puts legs of one street and scraps together; the input stays as it is.
func joinLegs(legs []routing.Leg) []routing.Leg {
	var out []routing.Leg
	for i := range legs {
		l := legs[i]
		l.Line = slices.Clone(l.Line)
		n := len(out)
		switch {
		case n > 0 && out[n-1].Name == l.Name && out[n-1].Class == l.Class && l.Turn != network.TurnBack:
			out[n-1] = joined(out[n-1], l)
		case n > 0 && scrap(&out[n-1]) && n > 1:
			// The scrap goes into this leg, which then turns off the leg before it.
			turn := network.TurnBetween(out[n-2].Line, l.Line)
			head := joined(l, out[n-1])
			head.Line = append(slices.Clone(out[n-1].Line), l.Line...)
			head.StartS, head.Turn, head.Edges = out[n-1].StartS, turn, append(slices.Clone(out[n-1].Edges), l.Edges...)
			if out[n-2].Name == head.Name && head.Name != "" && turn != network.TurnBack {
				out[n-2] = joined(out[n-2], head)
				out = out[:n-1]
				continue
			}
			out[n-1] = head
		default:
			out = append(out, l)
		}
	}
	return out
}

func scrap(l *routing.Leg) bool { return l.Name == "" && l.LengthM < scrapM }

// joined is a leg with what another adds; name, class and turn are the first one's.
func joined(a, b routing.Leg) routing.Leg {
	whole := max(a.LengthM+b.LengthM, 1e-9)
	mean := func(x, y float64) float64 { return (x*a.LengthM + y*b.LengthM) / whole }
	a.RoomLeftM, a.RoomRightM = mean(a.RoomLeftM, b.RoomLeftM), mean(a.RoomRightM, b.RoomRightM)
	a.LeastRoomM, a.SightM = min(a.LeastRoomM, b.LeastRoomM), min(a.SightM, b.SightM)
	if b.LengthM > a.LengthM {
		a.Keep, a.WayOutS, a.WayOutSide, a.Cover = b.Keep, b.WayOutS, b.WayOutSide, b.Cover
	}
	a.LengthM += b.LengthM
	a.DurationS += b.DurationS
	a.Reactions += b.Reactions
	a.RoomDefault = a.RoomDefault || b.RoomDefault
	a.Level = routing.LevelOf(a.Reactions / max(a.DurationS, 1e-9))
	a.Line = append(slices.Clone(a.Line), b.Line...)
	a.Edges = append(slices.Clone(a.Edges), b.Edges...)
	return a
}

// Lead is the kind whose room a walk is drawn for: the one that brings most
// reactions of those that are seen rather than heard, else the one the dog needs
// most room from. False for a dog that reacts to nothing.
func Lead(walk *routing.Walk, d *exposure.Dog) (exposure.Kind, bool) {
	for _, k := range walk.Kinds {
		if !k.Kind.Info().Heard && d.Need(k.Kind).WorkingM > 0 {
			return k.Kind, true
		}
	}
	best, most := exposure.Kind(0), 0.0
	for k := range exposure.KindCount {
		if n := d.Need(k).WorkingM; n > most && !(k.Info().Heard && most > 0) {
			best, most = k, n
		}
	}
	return best, most > 0
}

func (w Words) legName(l *routing.Leg) string {
	if l.Name != "" {
		return l.Name
	}
	if key := "class." + l.Class; w.has(key) {
		return w.Say(key)
	}
	return w.Say("class.street")
}

func (w Words) leg(l *routing.Leg, i int, last bool, need exposure.Need, d *exposure.Dog) LegText {
	length := w.Distance(l.LengthM)
	t := LegText{Number: i + 1, Name: w.legName(l), Level: w.level(l.Level), StartS: l.StartS, Plain: l.Level == routing.Calm}
	said := w.Say("turn." + string(l.Turn))
	t.Turn = w.Say("leg.turn", "turn", Sentence(said), "length", length)
	t.Brief = w.Say("leg.brief", "turn", Sentence(said), "name", t.Name)
	if l.Turn == network.TurnStraight {
		t.Brief = w.Say("leg.brief.on", "name", t.Name)
	}
	if last && i > 0 {
		t.Turn = w.Say("leg.turn", "turn", Sentence(said), "length", w.Say("home", "turn", length))
		said = w.Say("home", "turn", said)
	}
	t.Room = w.shortRoom(l, need)
	key := "leg"
	from, to := math.Round(l.StartS/60), math.Round((l.StartS+l.DurationS)/60)
	if from == to {
		key = "leg.short"
	}
	t.Text = strings.TrimSpace(w.Say(key, "n", t.Number, "name", t.Name, "turn", said, "length", length, "from", from, "to", to,
		"level", w.Say("level.ground."+l.Level.String()), "room", w.longRoom(l, need, d), "out", w.legWayOut(l, need)))
	return t
}

// better is the room of the leg's better side.
func better(l *routing.Leg) float64 { return max(l.RoomLeftM, l.RoomRightM) }

// shortRoom tells the room for the strip: at most 22 letters.
func (w Words) shortRoom(l *routing.Leg, need exposure.Need) string {
	m := better(l)
	switch {
	case need.WorkingM > 0 && m >= need.WorkingM:
		return w.Say("keep.all")
	case l.RoomDefault:
		return w.Say("keep.assumed", "distance", w.Distance(m))
	case l.Keep != "" && m >= pinchedM:
		return w.Say("keep."+l.Keep, "distance", w.Distance(m))
	}
	return w.Say("keep.either", "distance", w.Distance(m))
}

// pinchedM is the room under which the side hardly matters.
const pinchedM = 8

func (w Words) longRoom(l *routing.Leg, need exposure.Need, d *exposure.Dog) string {
	m := better(l)
	if need.WorkingM > 0 && m >= need.WorkingM {
		return w.Say("leg.room.all", "dog", w.Dog(d))
	}
	key := "leg.room.either"
	if l.Keep != "" {
		key = "leg.room." + l.Keep
	}
	said := w.Say(key, "distance", w.Distance(m))
	if l.RoomDefault {
		return w.Say("leg.room.assumed", "room", said)
	}
	return said
}

// legWayOut is the way out for the list of legs, which leaves out what is not known.
func (w Words) legWayOut(l *routing.Leg, need exposure.Need) string {
	if l.WayOutS < 0 && len(l.Cover) == 0 || l.WayOutS >= 0 && l.WayOutSide == "" && better(l) < need.WorkingM {
		return ""
	}
	return w.wayOut(l)
}

// wayOut tells the nearest way out from a leg, and what to do where there is none.
func (w Words) wayOut(l *routing.Leg) string {
	switch {
	case l.WayOutS < 0 && len(l.Cover) > 0:
		return w.Say("out.cover", "cover", w.Cover(&l.Cover[0]))
	case l.WayOutS < 0:
		return w.Say("out.none")
	case l.WayOutS == 0 && l.WayOutSide == "":
		return w.Say("out.here")
	case w.has("out." + l.WayOutSide):
		return w.Say("out."+l.WayOutSide, "seconds", w.seconds(l.WayOutS))
	}
	return w.Say("out.none")
}

// Watch tells the places to be ready at, in walking order.
func (w Words) Watch(walk *routing.Walk) []WatchText {
	out := make([]WatchText, 0, len(walk.Watch))
	for i := range walk.Watch {
		p := &walk.Watch[i]
		out = append(out, WatchText{Number: i + 1, FromM: p.FromM, AtS: p.AtS, Text: w.watchText(p), Deed: w.deed(p),
			Head: w.Say("spot.head", "n", i+1, "what", w.watchName(p), "minutes", w.into(p.AtS))})
	}
	return out
}

// className is a street's name, or what a way without one is called.
func (w Words) className(name string) string {
	if key := "class." + name; w.has(key) {
		return w.Say(key)
	}
	return name
}

func (w Words) watchName(p *routing.WatchPoint) string {
	name := w.className(p.Name)
	if name == "" && p.What == "crossing" {
		return w.Say("spot.crossing.unnamed")
	}
	return Sentence(w.Say("spot."+p.What, "name", name))
}

// watchText is what to expect at a watch point and what to do there.
func (w Words) watchText(p *routing.WatchPoint) string {
	var said []string
	for _, part := range []string{w.watchFact(p), w.deed(p), w.also(p)} {
		if part != "" {
			said = append(said, part)
		}
	}
	return strings.Join(said, " ")
}

// watchFact is what is seen at a watch point, "" where its name says it all.
func (w Words) watchFact(p *routing.WatchPoint) string {
	switch p.What {
	case "source":
		return w.whereabouts(p)
	case "school_bell":
		return w.Say("spot.fact.bell", "where", w.whereabouts(p))
	case "blind_corner":
		return w.Say("spot.fact.blind_corner", "distance", w.Distance(p.SightM))
	case "pinch":
		return w.Say("spot.fact.pinch", "distance", w.Distance(p.RoomM))
	case training.StandPoint:
		return w.Say("spot.fact.either", "distance", w.Distance(p.DistM))
	}
	return ""
}

// whereabouts says how far off a source is, and on which side.
func (w Words) whereabouts(p *routing.WatchPoint) string {
	switch {
	case p.Deed == routing.DeedLookFirst:
		return w.Say("spot.fact.at")
	case p.Side == "":
		return w.Say("spot.fact.either", "distance", w.Distance(p.DistM))
	}
	return w.Say("spot.fact."+p.Side, "distance", w.Distance(p.DistM))
}

// deed is what to do at a watch point.
func (w Words) deed(p *routing.WatchPoint) string {
	switch p.Deed {
	case routing.DeedHold:
		return w.Say("deed.hold", "clock", w.Clock(p.NotBefore))
	case "":
		return ""
	}
	return w.Say("deed." + string(p.Deed))
}

// also says what else lies at a watch point.
func (w Words) also(p *routing.WatchPoint) string {
	if len(p.Also) == 0 {
		return ""
	}
	list := make([]string, len(p.Also))
	for i, what := range p.Also {
		list[i] = w.Say("spot.also." + what)
	}
	return w.Say("spot.also", "list", w.listed(list))
}
