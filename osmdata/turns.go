package osmdata

import (
	"strings"

	"github.com/paulmach/osm"
)

// TurnBan says that who drives along one way up to a node may not go on along another,
// or, where Only is set, along none but it. Both ways begin or end at the node.
type TurnBan struct {
	From, To int64 // OSM way ids
	Via      int64 // OSM node id
	Only     bool
}

// banKeys are the tags of a relation that say what turn is banned for cars, the most
// special first. Source: the community's documentation of Relation:restriction. Bans by
// hour or for other vehicles alone are not taken.
var banKeys = [...]string{"restriction:motorcar", "restriction:motor_vehicle", "restriction"}

// banValue is what bans turns for a stranger's car, "" for nothing.
func banValue(tags osm.Tags) string {
	if tags.Find("type") != "restriction" {
		return ""
	}
	for _, not := range strings.Split(tags.Find("except"), ";") {
		if not = strings.TrimSpace(not); not == "motorcar" || not == "motor_vehicle" || not == "vehicle" {
			return ""
		}
	}
	for _, key := range banKeys {
		if v := tags.Find(key); strings.HasPrefix(v, "no_") || strings.HasPrefix(v, "only_") {
			return v
		}
	}
	return ""
}

// turnBans are the bans that a relation makes: one, or for no_entry and no_exit one for
// each street. Those whose middle is a street and not a node are noted and left out.
func (h *harvest) turnBans(r *osm.Relation, value string) (out []TurnBan) {
	var from, to, via []int64
	street := false
	for _, m := range r.Members {
		switch {
		case m.Role == "from" && m.Type == osm.TypeWay:
			from = append(from, m.Ref)
		case m.Role == "to" && m.Type == osm.TypeWay:
			to = append(to, m.Ref)
		case m.Role == "via" && m.Type == osm.TypeNode:
			via = append(via, m.Ref)
		case m.Role == "via":
			street = true
		}
	}
	if street || len(via) != 1 || len(from) == 0 || len(to) == 0 {
		h.report.Note(oddTurn, object("relation", int64(r.ID)))
		return nil
	}
	for _, a := range from {
		for _, b := range to {
			out = append(out, TurnBan{From: a, To: b, Via: via[0], Only: strings.HasPrefix(value, "only_")})
		}
	}
	return out
}
