// Package examples are the bodies that the description of the interface shows, one for
// each operation that takes one: each can be tried in the invented town as it stands.
package examples

import (
	"encoding/json"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/routing/briefing"
)

// What several examples have in common: a wish in the invented town of the demo,
// where each example can be tried as it stands.
const (
	dog    = `{"name":"Kessa","needs":{"dogs":{"working_m":38,"reaction_m":15},"child":{"working_m":25,"reaction_m":10}}}`
	wish   = `{"from":{"lat":47.2022,"lon":-7.0018},"minutes":30,"depart":"2026-11-25T07:10:00Z","dog":` + dog + `}`
	outing = `{"gate":{"lat":47.2022,"lon":-7.0018},"start":"2026-11-25T09:00:00Z","minutes":120,` +
		`"dogs":[{"dog":` + dog + `,"minutes":20},{"dog":{"name":"Oro","needs":{"dogs":{"working_m":30}}},"minutes":20,"experience":"regular"}],` +
		`"people":[{"name":"Ada","experience":"experienced"}]}`
	watch  = `"from":{"lat":47.2022,"lon":-7.0018},"kind":"dogs","dog":` + dog
	visits = watch + `,"times":["2026-11-28T07:20:00Z","2026-11-28T17:20:00Z"],"max_expected_reactions":2`
	stand  = `"at":{"lat":47.205827,"lon":-6.99899},"watched":"way/9143","arrive":"2026-11-28T07:20:00Z","stay_minutes":8`
	// someID stands where an id goes that only the server knows.
	someID   = "9f2c4b7d1e8a"
	sequence = `{"wish":{` + visits + `},"sequence":{"visits":[{"at":[-6.99899,47.205827],"watched":{"name":"Kiln Park","sort":"dog_park","osm":"way/9143"},` +
		`"distance_m":76,"multiple":2,"stay_minutes":8,"arrive":"2026-11-28T07:20:00Z"},{"at":[-6.99899,47.205827],"watched":{"name":"Kiln Park","sort":"dog_park","osm":"way/9143"},` +
		`"distance_m":57,"multiple":1.5,"stay_minutes":8,"arrive":"2026-11-28T17:20:00Z"}]},"step":1,"paused":false,` +
		`"rule":{"visits_in_a_row":3,"handled_share":0.8,"least_triggers":2,"over_for_back":1,"refusals_for_back":2}}`
	setup = `"from":{"lat":47.2022,"lon":-7.0018},"at":"2026-11-28T08:30:00Z","ground":"green","helper":{"calmness":"calm"},"dog":{"name":"Kessa","needs":{"dogs":{"working_m":20,"reaction_m":8}}}`
	box   = `"bbox":[-7.004,47.200,-7.000,47.203],"depart":"2026-11-25T08:15:00Z","dog":` + dog
)

// bodies are those of the operations, by their names.
var bodies = map[string]string{
	"plan":             wish,
	"proof":            `{"wish":` + wish + `}`,
	"tell-plan":        `{"wish":` + wish + `}`,
	"drawings":         `{"wish":` + wish + `}`,
	"picture":          `{"wish":` + wish + `,"what":"map","theme":"light","width_px":800,"height_px":600}`,
	"hand-out":         `{"wish":` + wish + `,"paper":"a4","driver":"fear"}`,
	"week":             strings.TrimSuffix(wish, "}") + `,"hours":24}`,
	"where":            strings.TrimSuffix(wish, "}") + `,"drive_minutes":10,"free_hours":{"spans":["06:30-08:00","17:00-21:30"]}}`,
	"hazards":          `{` + box + `}`,
	"streets":          `{"from":{"lat":47.2022,"lon":-7.0018},"depart":"2026-11-25T08:15:00Z","dog":` + dog + `}`,
	"sources":          `{` + box + `}`,
	"explain":          `{"edge":0,"depart":"2026-11-25T08:15:00Z","dog":` + dog + `}`,
	"places":           `{"text":"Weaver Row"}`,
	"way-out":          `{"at":{"lat":47.2022,"lon":-7.0018},"threat":{"lat":47.2025,"lon":-7.0018},"kind":"dog_off_lead","speed_mps":1.4,"dog":` + dog + `}`,
	"ways-out-along":   `{"line":[[-7.001809,47.202709],[-7.0019,47.2027]],"kind":"dog_on_lead","dog":` + dog + `}`,
	"plan-outing":      outing,
	"plan-outing-week": `{"outing":` + outing + `,"days":2,"skip":["sun"]}`,
	"count-gate":       outing,
	"check-outing":     `{"timetable":` + timetable() + `,"runs":100}`,
	"replan-outing":    `{"outing":` + outing + `,"before":` + timetable() + `,"now":"2026-11-25T09:02:00Z","late":[{"person":"Ada","minutes":5}]}`,
	"draw-outing":      `{"outing":` + outing + `,"timetable":` + timetable() + `}`,
	"print-outing":     `{"outing":` + outing + `,"timetable":` + timetable() + `,"paper":"a4"}`,

	"read-outing-tables": `{"start":"2026-11-25T09:00:00Z","minutes":120,"dogs":"name,room,minutes,who,bite,finish by\nKessa,38 m,20,any,,\nOro,60 m,30,exp,yes,10:30","people":"name,experience,from,to\nAda,exp,09:00,10:30"}`,
	"write-outing-table": `{"of":"dogs","start":"2026-11-25T09:00:00Z","minutes":120,"dogs":[{"dog":{"name":"Oro","needs":{"dogs":{"working_m":60}}},"minutes":30,"experience":"experienced","bite_history":true}]}`,

	"vantages":       `{` + watch + `,"multiple":2,"at":"2026-11-28T07:20:00Z"}`,
	"plan-visits":    `{` + visits + `}`,
	"plan-setup":     `{` + setup + `}`,
	"print-setup":    `{` + setup + `,"role":"helper"}`,
	"setup-picture":  `{` + setup + `,"theme":"light"}`,
	"replan-visit":   `{"wish":{` + visits + `},` + stand + `}`,
	"print-visit":    `{"wish":{` + visits + `},` + stand + `,"paper":"letter"}`,
	"draw-visit":     `{"wish":{` + visits + `},` + stand + `}`,
	"visit-picture":  `{"wish":{` + visits + `},` + stand + `,"theme":"dark","width_px":390,"height_px":392}`,
	"visit-progress": `{"visits":[{"step":3,"triggers":5,"handled":5,"turned_back":2},{"step":3,"triggers":5,"handled":4,"turned_back":1}]}`,

	"add-dog": `{"name":"Fern","intake":{"dogs":{"notices_at":200,"takes_food_at":130,"stops_eating_at":80,"reacts_at":50,"unit":"ft"},` +
		`"child":{"notices_at":null,"takes_food_at":null,"stops_eating_at":null,"reacts_at":null}},"drive":"fear","food":"cheese","reward_interval_s":3,"cautions":{"muzzle":true}}`,
	"set-dog":         `{"version":1,"profile":{"name":"Fern","needs":{"dogs":{"working_m":40,"reaction_m":16},"car":null}}}`,
	"delete-dog":      `{"name":"Fern"}`,
	"accept-proposal": `{"from_working_m":38,"to_working_m":31.4}`,
	"keep-plan":       `{"plan":{"walks":[]}}`,
	"log-walk":        `{"key":"phone-7/2026-11-25T07:10","started":"2026-11-25T07:10:00Z","ended":"2026-11-25T07:41:00Z","all_told":true}`,
	"set-walk":        `{"started":"2026-11-25T07:10:00Z","ended":"2026-11-25T07:45:00Z","all_told":true,"note":"fog"}`,
	"log-encounter": `{"key":"phone-7/0042","walk":"phone-7/2026-11-25T07:10","kind":"dog_on_lead","at":"2026-11-25T07:27:00Z","lat":47.2024,"lon":-7.0019,` +
		`"nearest":"between","distance_m":15,"to_m":38,"duration_s":20,"food":"taken"}`,
	"set-encounter":  `{"kind":"runner","at":"2026-11-25T07:33:00Z","nearest":"exact","distance_m":12,"noticed_m":12,"over":"bark","sudden":true}`,
	"add-report":     `{"kind":"runner","what":"running club","lat":47.2025,"lon":-7.0019,"radius_m":20,"hours":"Th 19:00-20:30","number":12,"ends":"2027-03-31T00:00:00Z","there":true}`,
	"add-count":      `{"key":"phone-7/count-3","lat":47.2022,"lon":-7.0018,"start":"2026-11-25T06:20:00Z","minutes":10,"dogs":2,"people":14}`,
	"set-settings":   `{"keep_tracks_days":90,"half_life_days":60,"units":"ft","clock":"12"}`,
	"add-person":     `{"name":"Robin","role":"handler"}`,
	"set-person":     `{"name":"Robin","role":"trainer"}`,
	"make-key":       `{"label":"Robin's phone","days":90}`,
	"add-word":       `{"helper":"Tilly","words":"Basket muzzle on Oro from next week. Until then no nearer than 40 m, I hold the line."}`,
	"make-share":     `{"label":"Family Birch","days":30}`,
	"put-document":   `{"version":0,"dog":"` + someID + `","body":` + sequence + `}`,
	"decide-visit":   `{"version":1,"to":2,"note":"turned back twice by herself"}`,
	"copy-sequence":  `{"dog":"` + someID + `","times":["2026-11-28T07:20:00Z","2026-11-28T17:20:00Z"]}`,
	"delete-account": `{"name":"local"}`,
}

// timetable is a short timetable as it is answered, with one walk that has
// not begun.
func timetable() string {
	out := wire.Timetable{
		Start: "2026-11-25T09:00:00Z", Minutes: 120, TimeZone: "Etc/GMT", Slack: "holds", Rules: "Leave on the minute and wait at the printed places.",
		GatePosition: wire.Position{-7.0018, 47.2022}, ZoneM: 60, Gate: wire.GateCount{OutMinutes: 2, InMinutes: 3, MostWalks: 24, Dogs: 2, Sufficient: true},
		Rows: []wire.TimeRow{{Dog: "Oro", Person: "Ada", StartMinute: 20, Meet: "2026-11-25T09:18:00Z", Leave: "2026-11-25T09:20:00Z", BackBy: "2026-11-25T09:25:00Z",
			WishedMinutes: 20, GrantedMinutes: 2, NeedM: 30, ExpectedReactions: 0.06, AlonePerMinute: 0.02, Holds: []wire.Hold{},
			ProgressS: []float64{0, 8.3, 30.3, 46.2, 66.2, 70, 73.9, 93.8, 109.8, 131.8, 140},
			Geometry: wire.LineString{Type: "LineString", Coordinates: []wire.Position{{-7.001716, 47.202205}, {-7.001727, 47.202294}, {-7.00176, 47.20253}, {-7.001781, 47.202702},
				{-7.002097, 47.202716}, {-7.002157, 47.202721}, {-7.002097, 47.202716}, {-7.001781, 47.202702},
				{-7.00176, 47.20253}, {-7.001727, 47.202294}, {-7.001716, 47.202205}}}}},
		Unserved: []string{"Kessa"}, WishedMinutes: 40, GrantedMinutes: 2, ExpectedReactions: 0.06, PerMinute: 0.02, AlonePerMinute: 0.02, MostAtOnce: 1,
		Pinches: []wire.Pinch{}, Together: [][2]string{}, Changed: []string{}, Unavoidable: []wire.Pinch{}, Assumed: []string{},
		Attribution: wire.Attribution, Caution: wire.Caution(briefing.Words{}),
	}
	text, err := json.Marshal(out)
	if err != nil {
		return "" // texts and finite numbers only: a test reads it
	}
	return string(text)
}

// Show puts the examples into a description.
func Show(api *huma.OpenAPI) {
	for _, item := range api.Paths {
		for _, op := range []*huma.Operation{item.Post, item.Put} {
			if op == nil || op.RequestBody == nil || bodies[op.OperationID] == "" {
				continue
			}
			op.RequestBody.Content["application/json"].Example = json.RawMessage(bodies[op.OperationID])
		}
	}
}
