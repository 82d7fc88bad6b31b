package gate_test

import (
	"context"
	"errors"
	"fmt"
	"time"

	"wideberth/api/gate"
)

// Where three may search at once, one account with three requests leaves a place to
// another.
func ExampleGate_Enter() {
	g := gate.New(3, 4, time.Millisecond)
	ctx := context.Background()
	for _, name := range []string{"shelter", "shelter", "shelter", "owner"} {
		_, err := g.Enter(ctx, name)
		fmt.Println(name, err == nil, errors.Is(err, gate.ErrCrowd))
	}
	fmt.Println("in:", g.Load().In)
	// Output:
	// shelter true false
	// shelter true false
	// shelter false true
	// owner true false
	// in: 3
}
