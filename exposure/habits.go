package exposure

import "wideberth/exposure/hours"

// Habits are how the people of a country get about and keep dogs: what survey
// levels rest on that no map has.
type Habits struct {
	Country      string  // ISO 3166-1 code; "" for the habits used elsewhere
	BicycleTrips float64 // a person and day
	Persons      float64 // a household
	BicycleM     float64 // mean length of a bicycle trip in metres
	FootLegs     float64 // walked for a purpose, a household and day
	DogHomes     float64 // share of households with a dog
	Firm         bool    // bicycle trips were seen in a published survey; else from memory
}

// habitRows: trips and kilometres by bicycle, legs on foot.
//
// NL: 5 billion trips, 17.6 billion km, 17.2 million people in 2019. DK: 0.46 to
// 0.50 trips and 1.5 km a day. DE: 11 % of trips, on foot 22 to 26 %, of 3.1 a day
// (MiD 2017 and 2023). GB: 17 trips, 58 miles a year; 0.9 miles on foot (National
// Travel Survey 2018). US: 1 % of trips (NHTS). BE, FI, SE, AT, FR, IT, IE: yearly
// kilometres of the EU's list of about 2000; their trips and all other figures are
// from memory, the row of elsewhere is our assumption. A city's habit differs from
// its country's by up to three: that is in the doubt.
//
// Households with a dog: US 44.6 % (AVMA 2022), GB 24 % and AU 39 % (as quoted in
// Westgarth et al. 2019, Sci. Rep.), DE 21 % (2022) and HU nearly half (2023, the
// European pet food industry's figures), CA 35 %, JP 18 % (2003); others from
// memory of the same industry's yearly tables, elsewhere our assumption.
var habitRows = []Habits{
	{"AD", .03, 2.5, 3000, 1.3, .22, false},
	{"AT", .19, 2.2, 3000, 1.2, .17, false},
	{"AU", .04, 2.5, 4500, 1.1, .39, false},
	{"BE", .28, 2.3, 4200, 1.0, .22, false},
	{"CA", .045, 2.4, 4000, .9, .35, false},
	{"CH", .24, 2.2, 3300, 1.9, .12, false},
	{"CZ", .16, 2.3, 3000, 1.6, .40, false},
	{"DE", .34, 2.0, 3900, 1.4, .21, true},
	{"DK", .47, 2.1, 3200, 1.0, .21, true},
	{"ES", .03, 2.5, 3000, 2.0, .27, false},
	{"FI", .23, 2.0, 3100, 1.2, .25, false},
	{"FR", .08, 2.2, 3000, 1.5, .21, false},
	{"GB", .047, 2.35, 5300, 1.6, .24, true},
	{"HU", .25, 2.3, 3000, 1.4, .45, false},
	{"IE", .05, 2.7, 4500, 1.3, .30, false},
	{"IT", .10, 2.3, 3000, 1.2, .25, false},
	{"JP", .33, 2.3, 2000, 1.3, .12, false},
	{"NL", .79, 2.1, 3500, 1.1, .19, true},
	{"NO", .14, 2.1, 4000, 1.3, .17, false},
	{"NZ", .04, 2.7, 4500, .9, .31, false},
	{"PL", .13, 2.6, 3000, 1.4, .42, false},
	{"PT", .015, 2.5, 3000, 1.3, .36, false},
	{"SE", .26, 2.1, 3500, 1.2, .15, false},
	{"SI", .15, 2.5, 3000, 1.2, .32, false},
	{"US", .034, 2.5, 3700, .9, .446, true},
}

// boardTrips are by board, kick scooter or electric scooter, a person and day: under
// one in a hundred of about three trips in travel surveys; our assumption.
const boardTrips = 0.01

// BoardsPerBicycle is how many boards and scooters there are for each bicycle.
func (h Habits) BoardsPerBicycle() float64 { return boardTrips / h.BicycleTrips }

// elsewhere are the habits where nothing is known; our assumption.
var elsewhere = Habits{"", .05, 2.4, 3500, 1.2, .25, false}

// HabitsOf gives the habits of a country by its ISO 3166-1 code; where none are
// known, those of elsewhere with Country "".
func HabitsOf(country string) Habits {
	country = hours.Country(country)
	for _, h := range habitRows {
		if h.Country == country {
			return h
		}
	}
	return elsewhere
}
