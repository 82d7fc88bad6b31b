package memory_test

import (
	"context"
	"fmt"

	"wideberth/api/memory"
	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// Whoever asks is carried by the request's context.
func ExampleWho() {
	_, err := memory.Who(context.Background())
	fmt.Println(err)
	w, err := memory.Who(memory.WithWho(context.Background(), store.Who{Role: kept.Trainer}))
	fmt.Println(w.Role, err)
	// Output:
	// no store
	// trainer <nil>
}
