package network

import "wideberth/osmdata"

// Sort says what a way is where it has no name, in a word.
func (part *Part) Sort() string {
	switch {
	case part.Flags&osmdata.FlagCrossing != 0:
		return "crossing"
	case part.Flags&osmdata.FlagPavement != 0:
		return "pavement"
	case part.Flags&osmdata.FlagTunnel != 0:
		return "passage"
	case part.Flags&osmdata.FlagDriveway != 0:
		return "drive"
	}
	switch part.Class {
	case osmdata.Steps:
		return "steps"
	case osmdata.Track:
		return "track"
	case osmdata.Cycleway:
		return "cycle path"
	case osmdata.Bridleway:
		return "bridleway"
	case osmdata.Footway, osmdata.Path:
		return "footpath"
	case osmdata.Pedestrian:
		return "pedestrian street"
	case osmdata.Service:
		return "service road"
	}
	return "street"
}
