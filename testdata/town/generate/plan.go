package main

// The hand-drawn part of the plan: what a town has before its blocks are
// parted. All coordinates are metres on the drawing sheet.

type kind string

const (
	river        kind = "river"
	race         kind = "race"
	rail         kind = "rail"
	edge         kind = "edge" // the rim of the sheet
	hedge        kind = "hedge"
	primary      kind = "primary"
	secondary    kind = "secondary"
	tertiary     kind = "tertiary"
	unclassified kind = "unclassified"
	residential  kind = "residential"
	living       kind = "living_street"
	worksRoad    kind = "service"
	alley        kind = "alley"
	pedestrian   kind = "pedestrian"
	footway      kind = "footway"
	footpath     kind = "path"
	track        kind = "track"
	steps        kind = "steps"
	cycleway     kind = "cycleway"
	sidewalk     kind = "sidewalk"
	fence        kind = "fence"
	wall         kind = "wall"
	ferry        kind = "ferry"
)

// halfWidthM is half the width that a line keeps free of buildings.
var halfWidthM = map[kind]float64{
	river: 15, race: 5, rail: 8, primary: 6, secondary: 5.5, tertiary: 4.5,
	unclassified: 4, residential: 4, living: 3.5, worksRoad: 4, alley: 2,
	pedestrian: 3, footway: 1.5, footpath: 1.2, track: 2, steps: 1.5,
	cycleway: 1.5, sidewalk: 1.5, hedge: 0.5, fence: 0.3, wall: 0.3, ferry: 0,
}

// walkable tells the kinds that a person may walk along, tags permitting.
func (k kind) walkable() bool {
	switch k {
	case river, race, rail, edge, hedge, fence, wall, ferry:
		return false
	}
	return true
}

func (k kind) barrier() bool { return k == hedge || k == fence || k == wall }

// use is what the ground of a block is for.
type use string

const (
	terraces     use = "terraces"
	centre       use = "centre"
	semis        use = "semis"
	detached     use = "detached"
	flats        use = "flats"
	industry     use = "industry"
	fields       use = "fields"
	meadow       use = "meadow"
	wood         use = "wood"
	park         use = "park"
	school       use = "school"
	square       use = "square"
	hospital     use = "hospital"
	churchyard   use = "churchyard"
	building     use = "building site"
	sports       use = "sports"
	yard         use = "station yard"
	verge        use = "verge"
	green        use = "green"
	fireStation  use = "fire station"
	retail       use = "retail"
	trainingUse  use = "dog training"
	cemeteryUse  use = "cemetery"
	allotmentUse use = "allotments"
)

type drawn struct {
	kind kind
	name string
	at   []pt

	// on leads the parting of the ground further than the road goes.
	on []pt
}

var riverLine = []pt{
	{-760, 1330}, {-640, 1080}, {-705, 800}, {-560, 520}, {-615, 230},
	{-500, -60}, {-560, -340}, {-430, -620}, {-480, -880}, {-330, -1120}, {-300, -1330},
}

var raceLine = []pt{
	{-686, 845}, {-590, 800}, {-445, 650}, {-400, 420}, {-425, 200},
	{-385, 0}, {-405, -200}, {-395, -380}, {-425, -520}, {-458, -570},
}

var railLine = []pt{
	{-1450, -790}, {-1000, -760}, {-450, -700}, {50, -690}, {400, -665}, {800, -720}, {1450, -640},
}

// Bridge Road comes in three pieces: its eastern middle is a dual carriageway.
var bridgeRoadWest = []pt{
	{-1450, -120}, {-1100, -195}, {-800, -150}, {-530, -175}, {-390, -185},
	{-200, -160}, {65, -130}, {330, -175}, {520, -160},
}

var bridgeRoadMiddle = []pt{{520, -160}, {600, -146}, {800, -108}, {1000, -112}, {1120, -122}}

var bridgeRoadEast = []pt{{1120, -122}, {1210, -112}, {1450, -60}}

// mainRoads part the sheet in this order.
var mainRoads = []drawn{
	{secondary, "Foundry Road", []pt{
		{190, 1330}, {205, 1000}, {225, 640}, {165, 430}, {85, 250}, {70, 60}, {65, -130},
		{25, -400}, {60, -690}, {35, -950}, {90, -1330}}, nil},
	{tertiary, weirRoad, []pt{
		{-1450, 540}, {-1100, 600}, {-850, 560}, {-580, 535}, {-410, 560}, {-265, 615}, {-20, 652}, {225, 640},
		{480, 690}, {725, 660}, {1000, 720}, {1250, 660}, {1450, 650}}, nil},
	{tertiary, "Eastmoor Road", []pt{
		{790, 1330}, {735, 1000}, {725, 660}, {650, 380}, {715, 80}, {800, -108},
		{865, -350}, {835, -560}, {850, -720}, {905, -1000}, {880, -1330}}, nil},
	{tertiary, "Station Road", []pt{{330, -175}, {375, -400}, {345, -560}, {350, -622}}, []pt{{352, -690}}},
	{tertiary, "Tannery Road", []pt{
		{-960, 1330}, {-900, 950}, {-850, 560}, {-795, 220}, {-800, -150}, {-835, -450},
		{-780, -738}, {-825, -1050}, {-800, -1330}}, nil},
	{unclassified, "South Field Road", []pt{
		{1450, -1020}, {1250, -965}, {905, -1000}, {450, -1015}, {36, -950}, {-180, -965}, {-395, -985}}, []pt{{-460, -1000}}},
	{unclassified, "Weir Lane", []pt{{205, 1000}, {-100, 965}, {-350, 905}, {-560, 925}}, []pt{{-720, 935}}},
	{unclassified, "Northmoor Lane", []pt{
		{205, 1000}, {480, 1040}, {735, 1000}, {1010, 1020}, {1215, 900}, {1250, 660},
		{1195, 300}, {1235, 80}, {1212, -112}}, nil},
	{unclassified, "Drove Road", []pt{{1212, -112}, {1185, -400}, {1160, -610}}, []pt{{1150, -720}}},
	{unclassified, "Heath Lane", []pt{
		{-1245, 588}, {-1275, 250}, {-1232, -172}, {-1255, -450}, {-1240, -720}}, []pt{{-1238, -810}}},
	// The home quarter of the invented dog.
	{residential, "Tanner Row", []pt{{-265, 615}, {-262, 470}, {-278, 318}, {-268, 120}, {-292, -50}, {-285, -172}}, nil},
	{residential, "Hatch Street", []pt{{-278, 318}, {-130, 300}, {-30, 312}, {108, 306}}, nil},
	{residential, "Weaver Row", []pt{{-135, 300}, {-126, 160}, {-142, 0}, {-132, -150}}, nil},
	{residential, "Lime Lane", []pt{{-372, 128}, {-268, 120}, {-126, 140}, {-60, 152}, {74, 148}}, nil},
	{residential, "Low Street", []pt{{-292, -50}, {-142, -14}, {-40, -22}, {68, -8}}, nil},
	{residential, "Shuttle Street", []pt{{-20, 311}, {-42, 150}, {-40, -22}}, nil},
	{residential, "Kiln Street", []pt{{225, 640}, {300, 540}, {330, 330}, {330, 180}, {365, 20}, {330, -175}}, nil},
	{residential, "Hill Street", []pt{{85, 250}, {210, 232}, {331, 210}, {500, 232}, {680, 240}}, nil},
	{living, "Market Street", []pt{{68, 30}, {180, 42}, {275, 52}, {364, 22}}, nil},
	{living, "Chandler Street", []pt{{205, 236}, {180, 42}, {190, -150}}, nil},
	{living, "Bell Lane", []pt{{275, 52}, {262, -164}}, nil},
	{living, "Corn Lane", []pt{{180, -48}, {270, -50}}, nil},
}

// Weir Road takes another name where Tanner Row meets it.
const weirRoad, weirRoadEast = "Weir Road", "Top Field Lane"

var renamedAt = pt{-265, 615}

type landmark struct {
	at        pt
	use       use
	name      string
	maxAreaM2 float64
}

// landmarks are blocks that no street may part.
var landmarks = []landmark{
	{pt{-60, 470}, park, "Kiln Park", 190000},
	{pt{225, 0}, square, "Market Square", 14000},
	{pt{130, 120}, churchyard, "Church of the Lamp", 30000},
	{pt{420, 110}, school, "Hill Street School", 36000},
	{pt{240, -860}, school, "South Field School", 42000},
	{pt{520, -330}, hospital, "Lamp Hospital", 42000},
	{pt{-160, -830}, building, "", 30000},
	{pt{-752, -300}, fireStation, "", 12000},
	{pt{640, -880}, sports, "South Field", 48000},
	{pt{470, -610}, yard, "", 52000},
	{pt{930, 170}, green, "Eastmoor Green", 26000},
	{pt{-1020, 330}, green, "Heath Green", 26000},
	{pt{480, 820}, green, "Northmoor Green", 26000},
	{pt{130, -470}, retail, "", 24000},
	{pt{1090, -330}, trainingUse, "", 52000},
	{pt{-720, 60}, allotmentUse, "Ferryman's Plots", 60000},
	{pt{-100, 800}, cemeteryUse, "Lamp Cemetery", 34000},
}

type seed struct {
	at  pt
	use use
}

// quarterSeeds give each quarter its way of building: the nearest seed counts.
var quarterSeeds = []seed{
	{pt{-60, 120}, terraces}, {pt{-200, 200}, terraces}, {pt{-330, 0}, terraces}, {pt{-340, 380}, terraces},
	{pt{200, 0}, centre}, {pt{200, -230}, centre}, {pt{130, -100}, centre},
	{pt{-150, -330}, terraces}, {pt{-150, -560}, terraces}, {pt{200, -420}, terraces}, {pt{-330, -560}, terraces},
	{pt{480, 320}, semis}, {pt{470, 100}, terraces}, {pt{450, 520}, semis}, {pt{600, 0}, semis},
	{pt{-100, 800}, detached}, {pt{-300, 760}, detached}, {pt{50, 760}, detached},
	{pt{450, 860}, detached}, {pt{950, 860}, detached}, {pt{1100, 520}, detached}, {pt{830, 520}, detached},
	{pt{930, 330}, semis}, {pt{1130, 250}, detached},
	{pt{950, 60}, flats}, {pt{760, 0}, flats}, {pt{1120, 40}, flats},
	{pt{700, -350}, semis}, {pt{620, -530}, terraces}, {pt{1000, -300}, semis}, {pt{1000, -550}, semis},
	{pt{200, -830}, semis}, {pt{-200, -840}, semis}, {pt{700, -860}, semis}, {pt{1050, -840}, detached},
	{pt{-1050, 400}, detached}, {pt{-1050, 100}, detached}, {pt{-700, 330}, semis}, {pt{-700, 60}, semis},
	{pt{-1050, -300}, industry}, {pt{-1050, -600}, industry}, {pt{-680, -560}, terraces}, {pt{-690, -300}, semis},
	{pt{-1100, 950}, wood}, {pt{-800, 900}, meadow}, {pt{-800, 1200}, meadow}, {pt{-520, 250}, meadow},
	{pt{-480, -300}, meadow}, {pt{-458, -440}, meadow}, {pt{-450, -500}, meadow}, {pt{-320, -290}, terraces}, {pt{-460, 60}, meadow}, {pt{-520, 700}, meadow},
	{pt{-620, -1000}, meadow}, {pt{-1100, -1000}, fields}, {pt{-100, -1180}, fields}, {pt{500, -1200}, fields},
	{pt{1150, -1180}, fields}, {pt{1360, -400}, fields}, {pt{1360, 200}, fields}, {pt{1360, -850}, fields},
	{pt{1330, 520}, fields}, {pt{1330, 720}, fields}, {pt{200, -1120}, fields}, {pt{320, -1120}, fields},
	{pt{700, -1150}, fields}, {pt{1330, 0}, fields}, {pt{-1330, -250}, fields}, {pt{-1340, -380}, fields}, {pt{-1330, 350}, fields}, {pt{-250, 1000}, fields},
	{pt{1360, 900}, fields}, {pt{1000, 1200}, fields}, {pt{480, 1200}, fields}, {pt{-100, 1180}, fields},
	{pt{-450, 1150}, fields}, {pt{-1400, 200}, fields}, {pt{-1400, -500}, fields}, {pt{-690, -640}, terraces},
}

// housing tells the uses with homes.
func (u use) housing() bool {
	switch u {
	case terraces, centre, semis, detached, flats:
		return true
	}
	return false
}
