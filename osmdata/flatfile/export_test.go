package flatfile

// LengthBytes is the length of a section, 0 if it is not there.
func (f *File) LengthBytes(name string) int64 { return int64(f.sections[name].length) }

// Decode is Open for a file that lies in memory; data is kept and must not be
// changed.
func Decode(data []byte, magic [8]byte, version uint32) (*File, error) {
	return parse("", data, magic, version)
}
