package database_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"wideberth/api/store/database"
)

// A file is made with its schema, written in a transaction, and read.
func Example() {
	dir, err := os.MkdirTemp("", "example")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	db, err := database.Open(ctx, filepath.Join(dir, "memory.db"), things())
	if err != nil {
		fmt.Println(err)
		return
	}
	defer db.Close()
	note := ""
	err = db.Update(ctx, func(t *database.Tx) error {
		if err := t.Do(`INSERT INTO thing (id, note) VALUES ($1, $2)`, "lead", "five metres"); err != nil {
			return err
		}
		return t.Row(`SELECT note FROM thing WHERE id = $1`, []any{"lead"}, &note)
	})
	fmt.Println(db.Made(), note, err)
	err = db.Update(ctx, func(t *database.Tx) error { return t.Must(`DELETE FROM thing WHERE id = $1`, "ball") })
	fmt.Println(err)
	// Output:
	// true five metres <nil>
	// there is no such thing here
}
