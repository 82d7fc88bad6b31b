package network

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
)

// Fingerprint tells this network from every other: twelve characters of a SHA-256
// over what numbers and places its edges. Two imports of one extract by one version
// of the program have the same.
func (g *Graph) Fingerprint() string {
	h := sha256.New()
	for _, list := range []any{g.Star.First, g.Star.Head, g.EdgeArc, g.LengthM, g.VertexNode} {
		b, err := binary.Append(nil, binary.LittleEndian, list)
		if err != nil {
			panic(err) // lists of fixed-size numbers can always be written
		}
		h.Write(b)
	}
	return base64.RawURLEncoding.EncodeToString(h.Sum(nil)[:9])
}
