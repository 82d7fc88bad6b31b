package store_test

import (
	"os"
	"testing"

	"wideberth/api/store/pgtest"
)

// pg is the throw-away PostgreSQL server, nil where Debian's package is not
// installed; pgWhy says why it is missing.
var (
	pg    *pgtest.Server
	pgWhy error
)

// postgres is the URL of a new, empty database.
func postgres(t testing.TB) string {
	t.Helper()
	if pg == nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("PostgreSQL is missing: %v", pgWhy)
		}
		t.Skipf("skipped on PostgreSQL: %v", pgWhy)
	}
	url, err := pg.Database()
	if err != nil {
		t.Fatal(err)
	}
	return url
}
