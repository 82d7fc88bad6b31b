package wire

import "wideberth/exposure"

// DogOf is the dog that a client sent; one without any distances is the dog of
// whom nothing is known.
func DogOf(f *exposure.DogFile) (*exposure.Dog, error) {
	if len(f.Needs) == 0 && f.SpeedMPS == nil {
		d := exposure.DefaultDog()
		d.Name = f.Name
		return d, nil
	}
	return f.Dog()
}
