package wire

import "wideberth/exposure"

// DogOf is the dog that a client sent; one without any distances is the dog of whom
// nothing is known, with the cautions that were sent.
func DogOf(f *exposure.DogFile) (*exposure.Dog, error) { return f.OrDefault() }
