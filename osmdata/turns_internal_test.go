package osmdata

import (
	"context"
	"reflect"
	"strings"
	"testing"

	"github.com/paulmach/osm"
)

// What bans a turn for a car. Source: the community's documentation of
// Relation:restriction.
func TestBanValue(t *testing.T) {
	for tags, want := range map[string]string{
		"type=restriction restriction=no_left_turn":                                  "no_left_turn",
		"type=restriction restriction=only_straight_on":                              "only_straight_on",
		"type=restriction restriction=no_left_turn except=bicycle;psv":               "no_left_turn",
		"type=restriction restriction=no_left_turn except=bicycle;motorcar":          "",
		"type=restriction restriction:hgv=no_left_turn":                              "",
		"type=restriction restriction:motorcar=no_u_turn":                            "no_u_turn",
		"type=restriction restriction:conditional=no_left_turn":                      "",
		"type=restriction restriction=give_way":                                      "",
		"type=multipolygon restriction=no_left_turn":                                 "",
		"restriction=no_left_turn":                                                   "",
		"type=restriction restriction=no_entry restriction:motor_vehicle=no_u_turn":  "no_u_turn",
		"type=restriction restriction=no_entry restriction:motorcycle=only_straight": "no_entry",
	} {
		if got := banValue(tagsOf(tags)); got != want {
			t.Errorf("%q: %q, want %q", tags, got, want)
		}
	}
}

// A ban is between ways at a node; one over a street is noted and left out; the members
// of a no_entry are several bans.
func TestTurnBansOfRelations(t *testing.T) {
	way := func(role string, id int64) osm.Member { return osm.Member{Type: osm.TypeWay, Role: role, Ref: id} }
	node := func(id int64) osm.Member { return osm.Member{Type: osm.TypeNode, Role: "via", Ref: id} }
	for name, c := range map[string]struct {
		value   string
		members osm.Members
		want    []TurnBan
	}{
		"plain":         {"no_left_turn", osm.Members{way("from", 1), node(5), way("to", 2)}, []TurnBan{{1, 2, 5, false}}},
		"only":          {"only_right_turn", osm.Members{way("to", 2), way("from", 1), node(5)}, []TurnBan{{1, 2, 5, true}}},
		"several in":    {"no_entry", osm.Members{way("from", 1), way("from", 3), node(5), way("to", 2)}, []TurnBan{{1, 2, 5, false}, {3, 2, 5, false}}},
		"over a street": {"no_u_turn", osm.Members{way("from", 1), way("via", 7), way("to", 2)}, nil},
		"no end":        {"no_u_turn", osm.Members{way("from", 1), node(5)}, nil},
	} {
		h := newHarvest(nil)
		h.addRelation(&osm.Relation{ID: 9, Tags: osm.Tags{{Key: "type", Value: "restriction"}, {Key: "restriction", Value: c.value}}, Members: c.members})
		if !reflect.DeepEqual(h.turns, c.want) || (h.report.Odd[oddTurn] != nil) != (c.want == nil) || len(h.rels) != 0 {
			t.Errorf("%s: %v, want %v; odd %v", name, h.turns, c.want, h.report.Odd)
		}
	}
}

// Of a file, with the node under the id that stands for its place.
func TestTurnBansRead(t *testing.T) {
	const file = `<osm version="0.6"><node id="1" lat="50" lon="10"/><node id="2" lat="50.001" lon="10"/><node id="3" lat="50.001" lon="10"/><node id="4" lat="50.002" lon="10"/>
<way id="1"><nd ref="1"/><nd ref="2"/><nd ref="3"/><tag k="highway" v="residential"/></way><way id="2"><nd ref="3"/><nd ref="4"/><tag k="highway" v="residential"/></way>
<relation id="1"><member type="way" ref="1" role="from"/><member type="node" ref="3" role="via"/><member type="way" ref="2" role="to"/><tag k="type" v="restriction"/><tag k="restriction" v="no_straight_on"/></relation></osm>`
	x, err := Options{}.Read(context.Background(), strings.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if want := []TurnBan{{From: 1, To: 2, Via: 2}}; !reflect.DeepEqual(x.TurnBans, want) || x.Report.Read["turn bans"] != 1 {
		t.Errorf("%+v, want %+v", x.TurnBans, want)
	}
}
