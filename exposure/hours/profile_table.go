package hours

// Where the built-in shapes come from. No hourly table of dog walking,
// playgrounds or skate spots was found, so those are assumptions to be
// replaced by counts and walk logs.
const (
	ourAssumption = "our assumption: no published hourly table found"
	// Counters stand on good routes and sensors in one centre: the middle between our
	// assumption and what was counted, rounded.
	towardsCounters = "our assumption, moved half way to 64 bicycle counters in Baden-Wuerttemberg " +
		"(shares derived from MobiData BW, NVBW); free over working days counted: 0.67 (10 to 90 %: 0.49 to 1.36)"
	towardsSensors = "our assumption, moved half way to 18 sensors in the centre of Melbourne " +
		"(shares derived from City of Melbourne counts)"
	movesUrban  = "EPA MOVES default hourVMTFraction, urban (quoted from memory), renormalised"
	schoolHours = "our assumption around published bell times: start mean 8:13, 63 % from 7:30 to 8:30 " +
		"(NCES NTPS 2020-21), day of about 6.6 h (NCES 2007-08, quoted from memory)"
)

// allDay is a profile of one free day used where a shape has none of its own
// (FreeScale 0); it only has to be normal.
var allDay = between(0, 24)

// between gives the same weight to hours from (included) to to (excluded).
func between(from, to int) Profile {
	var p Profile
	for h := from; h < to; h++ {
		p[h] = 1
	}
	return p
}

// rawShapes hold weights in any unit, per activity; loadShapes normalises.
var rawShapes = [activityCount]Shape{
	Dogs: {Name: "dog walks", FreeScale: 1.1, Source: ourAssumption, Assumed: true,
		Busy: Profile{.003, .002, .002, .003, .008, .025, .060, .095, .085, .060, .050, .045,
			.045, .040, .040, .050, .065, .085, .085, .065, .045, .030, .015, .007},
		Free: Profile{.003, .002, .002, .002, .004, .012, .030, .058, .085, .092, .082, .068,
			.052, .050, .055, .065, .072, .075, .068, .052, .038, .024, .012, .006}},
	People: {Name: "people on foot", FreeScale: .9, Source: towardsSensors, Assumed: true,
		Busy: Profile{5, 3, 2, 1, 2, 7, 20, 47, 75, 50, 49, 58, 81, 77, 66, 69, 80, 90, 69, 49, 37, 30, 21, 12},
		Free: Profile{18, 11, 7, 5, 3, 4, 8, 16, 29, 45, 62, 76, 82, 85, 87, 85, 80, 70, 61, 50, 38, 32, 27, 19}},
	SchoolTrips: {Name: "ways to and from school", Rhythm: SchoolYear, FreeScale: 0,
		Source: schoolHours, Assumed: true, Free: allDay,
		Busy: Profile{6: .02, 7: .22, 8: .20, 9: .02, 11: .02, 12: .03, 13: .03, 14: .12, 15: .25, 16: .09}},
	Cars: {Name: "motor traffic", FreeScale: .9, Source: movesUrban + "; the weekend's total is our assumption",
		Busy: Profile{9.9, 6.3, 5.1, 4.7, 7.0, 18.5, 46.0, 69.6, 60.8, 50.3, 49.9, 54.4,
			57.6, 58.0, 62.3, 71.0, 77.0, 77.4, 59.8, 44.4, 35.4, 31.8, 24.9, 19.1},
		Free: Profile{21.5, 14.4, 11.0, 7.5, 6.8, 10.4, 18.4, 26.8, 36.4, 47.5, 57.5, 65.1,
			71.3, 71.5, 71.7, 72.0, 71.1, 67.9, 61.8, 51.7, 42.9, 38.0, 32.2, 24.6}},
	Bicycles: {Name: "bicycles, boards and scooters", FreeScale: .67, Source: towardsCounters, Assumed: true,
		Busy: Profile{3, 2, 1, 1, 3, 12, 35, 85, 76, 48, 43, 48, 56, 58, 60, 74, 90, 96, 77, 53, 35, 23, 14, 7},
		Free: Profile{9, 6, 4, 2, 2, 4, 8, 16, 31, 53, 73, 86, 90, 93, 98, 96, 88, 73, 57, 41, 29, 19, 13, 9}},
	Playground: {Name: "playground", Rhythm: SchoolYear, FreeScale: 1.5, Source: ourAssumption, Assumed: true,
		Busy: Profile{8: 1, 9: 4, 10: 8, 11: 7, 12: 4, 13: 4, 14: 8, 15: 18, 16: 20, 17: 16, 18: 8, 19: 4, 20: 1},
		Free: Profile{8: 1, 9: 4, 10: 10, 11: 12, 12: 9, 13: 9, 14: 12, 15: 14, 16: 13, 17: 8, 18: 5, 19: 3, 20: 1}},
	SkateSpot: {Name: "skate spot", Rhythm: SchoolYear, FreeScale: 1.5, Source: ourAssumption, Assumed: true,
		Busy: Profile{9: 1, 10: 1, 11: 1, 12: 2, 13: 3, 14: 6, 15: 15, 16: 19, 17: 19, 18: 16, 19: 12, 20: 6, 21: 3, 22: 1},
		Free: Profile{9: 1, 10: 4, 11: 7, 12: 9, 13: 12, 14: 14, 15: 15, 16: 14, 17: 11, 18: 8, 19: 6, 20: 4, 21: 2, 22: 1}},
	DogPark: {Name: "dog park", FreeScale: 1.3, Source: ourAssumption, Assumed: true,
		Busy: Profile{5: 1, 6: 6, 7: 9, 8: 8, 9: 6, 10: 5, 11: 4, 12: 4, 13: 3, 14: 3, 15: 5, 16: 9, 17: 12, 18: 11, 19: 8, 20: 4, 21: 2},
		Free: Profile{6: 2, 7: 5, 8: 8, 9: 11, 10: 11, 11: 9, 12: 6, 13: 6, 14: 7, 15: 8, 16: 9, 17: 8, 18: 6, 19: 4, 20: 2, 21: 1}},
	Schoolyard: {Name: "schoolyard", Rhythm: SchoolYear, FreeScale: 0, Source: schoolHours, Assumed: true, Free: allDay,
		Busy: Profile{7: 12, 8: 14, 9: 6, 10: 14, 11: 10, 12: 16, 13: 8, 14: 10, 15: 12, 16: 4}},
	Cafe: {Name: "café terrace", FreeScale: 1.3, Source: ourAssumption, Assumed: true,
		Busy: Profile{7: 3, 8: 5, 9: 6, 10: 7, 11: 7, 12: 11, 13: 10, 14: 7, 15: 8, 16: 8, 17: 8, 18: 7, 19: 6, 20: 4, 21: 3, 22: 1},
		Free: Profile{8: 3, 9: 6, 10: 9, 11: 10, 12: 10, 13: 10, 14: 10, 15: 11, 16: 9, 17: 7, 18: 5, 19: 4, 20: 3, 21: 2, 22: 1}},
	Market: {Name: "market", FreeScale: 1, Source: ourAssumption, Assumed: true,
		Busy: Profile{6: 3, 7: 6, 8: 12, 9: 17, 10: 19, 11: 18, 12: 13, 13: 7, 14: 3, 15: 1},
		Free: Profile{6: 3, 7: 6, 8: 12, 9: 17, 10: 19, 11: 18, 12: 13, 13: 7, 14: 3, 15: 1}},
	Pitch: {Name: "sports pitch", Rhythm: SchoolYear, FreeScale: 1.5, Source: ourAssumption, Assumed: true,
		Busy: Profile{9: 3, 10: 3, 11: 3, 12: 2, 13: 3, 14: 5, 15: 8, 16: 13, 17: 19, 18: 20, 19: 14, 20: 6, 21: 1},
		Free: Profile{8: 2, 9: 8, 10: 13, 11: 14, 12: 10, 13: 10, 14: 12, 15: 11, 16: 8, 17: 5, 18: 4, 19: 2, 20: 1}},
	Construction: {Name: "construction, Monday to Friday 07:00 to 17:00", FreeScale: 0,
		Source: ourAssumption, Assumed: true, Free: allDay, Busy: between(7, 17)},
	ChurchBells: {Name: "church bells", FreeScale: 2, Source: ourAssumption, Assumed: true,
		Busy: Profile{7: 1, 8: 1, 9: 1, 10: 1, 11: 1, 12: 2, 13: 1, 14: 1, 15: 1, 16: 1, 17: 1, 18: 2, 19: 1},
		Free: Profile{7: 1, 8: 1, 9: 4, 10: 5, 11: 3, 12: 2, 13: 1, 14: 1, 15: 1, 16: 1, 17: 1, 18: 2, 19: 1}},
	Shops: {Name: "shops and practices", FreeScale: .6, Source: ourAssumption, Assumed: true,
		Busy: Profile{7: 2, 8: 5, 9: 9, 10: 11, 11: 11, 12: 9, 13: 8, 14: 9, 15: 10, 16: 11, 17: 10, 18: 6, 19: 3},
		Free: Profile{8: 3, 9: 9, 10: 14, 11: 15, 12: 13, 13: 11, 14: 10, 15: 9, 16: 8, 17: 6, 18: 2}},
	Beach: {Name: "beach", FreeScale: 1.6, Source: ourAssumption, Assumed: true,
		Busy: Profile{8: 1, 9: 3, 10: 6, 11: 9, 12: 11, 13: 12, 14: 14, 15: 14, 16: 12, 17: 9, 18: 6, 19: 3, 20: 1},
		Free: Profile{8: 1, 9: 4, 10: 8, 11: 11, 12: 12, 13: 13, 14: 14, 15: 13, 16: 11, 17: 8, 18: 5, 19: 3, 20: 1}},
	Trains: {Name: "trains and trams", FreeScale: .7, Source: ourAssumption, Assumed: true,
		Busy: Profile{1, 0, 0, 0, 1, 3, 5, 6, 6, 5, 5, 5, 5, 5, 5, 5, 6, 6, 6, 5, 4, 4, 3, 2},
		Free: Profile{1, 1, 0, 0, 0, 1, 2, 3, 4, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 4, 4, 3, 2}},
}
