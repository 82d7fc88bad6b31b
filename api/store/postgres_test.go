package store_test

import (
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
	return pg.Fresh(t, pgWhy)
}
