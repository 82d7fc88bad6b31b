package tiling_test

import (
	"context"
	"fmt"
	"os"

	"wideberth/routing/tiling"
)

func Example() {
	dir, err := os.MkdirTemp("", "tiling")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	res, err := options().Import(context.Background(), hamlets(""), dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range res.Table.Tiles {
		fmt.Println(t.Key, t.Name)
	}
	checked, err := tiling.Check(context.Background(), dir)
	fmt.Println(len(checked.Breaches), err)
	// Output:
	// 0313301322020 hamlets (Hamlet 1)
	// 0313301322031 hamlets (Hamlet 2)
	// 0313301322130 hamlets (Hamlet 3)
	// 0 <nil>
}
