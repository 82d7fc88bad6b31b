package flatfile_test

import (
	"fmt"
	"os"
	"path/filepath"

	"wideberth/osmdata/flatfile"
)

func ExampleCreate() {
	dir, err := os.MkdirTemp("", "flatfile")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	path, kind := filepath.Join(dir, "walks.dat"), [8]byte{'w', 'a', 'l', 'k', 's'}
	w, err := flatfile.Create(path, kind, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	flatfile.Put(w, "length", []float32{812, 1440.5})
	flatfile.PutStrings(w, "name", []string{"along the canal", "round the wood"})
	if err := w.Close(); err != nil {
		fmt.Println(err)
		return
	}
	f, err := flatfile.Open(path, kind, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	lengths, _ := flatfile.Take[float32](f, "length")
	names, _ := flatfile.TakeStrings(f, "name")
	fmt.Println(names, lengths)
	// Output: [along the canal round the wood] [812 1440.5]
}
