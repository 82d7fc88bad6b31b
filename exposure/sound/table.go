package sound

// Kind names a built-in Source.
type Kind uint8

// Kinds of sound events. The last ones, from Backhoe on, are pieces of
// construction equipment.
const (
	Siren Kind = iota
	TrainHorn
	PassengerTrain
	FreightTrain
	Tram
	ChurchBells
	Schoolyard
	Playground
	Bark
	Backhoe
	Excavator
	DumpTruck
	Compactor
	Generator
	ChainSaw
	ConcreteSaw
	Jackhammer
	PileDriver
	kindCount
)

const (
	fiftyFeetM  = 15.24
	hundredFtM  = 30.48
	interopM    = 7.5 // measuring distance of railway pass-by levels
	speechHz    = 1000
	engineHz    = 500
	interopText = "pass-by limit at 80 km/h, Commission Regulation (EU) 1304/2014 (quoted from memory)"
	rcnmText    = "FHWA Roadway Construction Noise Model, User's Guide 2006, table 1 (quoted from memory): " +
		"the higher of specified and measured Lmax at 50 ft"
	childText = "our assumption: 87 dB sound power per shouting child, the order of VDI 3770 (quoted from memory)"
)

// Children at 10 m: 87 dB + 10 log10(n shouting at once) - 10 log10(2 pi 10^2).
var sources = [kindCount]Source{
	Siren: {Name: "siren", LevelDB: 120, RefM: 3, FreqHz: 1000,
		Origin: "on axis; devices of SAE J1849 give about 118 to 124 dB(A) at 3 m (quoted from memory)"},
	TrainHorn: {Name: "train horn", LevelDB: 96, RefM: hundredFtM, FreqHz: 500,
		Origin: "least level ahead of the train, 49 CFR 229.129 (quoted from memory)"},
	PassengerTrain: {Name: "passenger train", LevelDB: 80, RefM: interopM, LengthM: 100, FreqHz: 1000, Origin: interopText},
	FreightTrain:   {Name: "freight train", LevelDB: 83, RefM: interopM, LengthM: 400, FreqHz: 1000, Origin: interopText},
	Tram:           {Name: "tram", LevelDB: 76, RefM: interopM, LengthM: 30, FreqHz: 1000, Origin: "our assumption", Assumed: true},
	ChurchBells:    {Name: "church bells", LevelDB: 80, RefM: 30, FreqHz: 500, Origin: "our assumption", Assumed: true},
	Schoolyard: {Name: "schoolyard", LevelDB: 69, RefM: 10, FreqHz: speechHz, Assumed: true,
		Origin: childText + ", ten at once"},
	Playground: {Name: "playground", LevelDB: 64, RefM: 10, FreqHz: speechHz, Assumed: true,
		Origin: childText + ", three at once"},
	Bark:        {Name: "dog barking in a yard", LevelDB: 95, RefM: 1, FreqHz: speechHz, Origin: "our assumption", Assumed: true},
	Backhoe:     {Name: "backhoe", LevelDB: max(80, 78), RefM: fiftyFeetM, FreqHz: engineHz, Origin: rcnmText},
	Excavator:   {Name: "excavator", LevelDB: max(85, 81), RefM: fiftyFeetM, FreqHz: engineHz, Origin: rcnmText},
	DumpTruck:   {Name: "dump truck", LevelDB: max(84, 76), RefM: fiftyFeetM, FreqHz: engineHz, Origin: rcnmText},
	Compactor:   {Name: "compactor", LevelDB: max(80, 83), RefM: fiftyFeetM, FreqHz: engineHz, Origin: rcnmText},
	Generator:   {Name: "generator", LevelDB: max(82, 81), RefM: fiftyFeetM, FreqHz: engineHz, Origin: rcnmText},
	ChainSaw:    {Name: "chain saw", LevelDB: max(85, 84), RefM: fiftyFeetM, FreqHz: 2000, Origin: rcnmText},
	ConcreteSaw: {Name: "concrete saw", LevelDB: max(90, 90), RefM: fiftyFeetM, FreqHz: 2000, Origin: rcnmText},
	Jackhammer:  {Name: "jackhammer", LevelDB: max(85, 89), RefM: fiftyFeetM, FreqHz: 1000, Origin: rcnmText},
	PileDriver:  {Name: "impact pile driver", LevelDB: max(95, 101), RefM: fiftyFeetM, FreqHz: engineHz, Origin: rcnmText},
}
