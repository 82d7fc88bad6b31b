// Package pgtest starts a throw-away PostgreSQL server for tests of what keeps its
// rows in one. It hides where the server comes from and under whom it runs.
package pgtest

import (
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver
)

// serverURL is the address of the server, "" where Debian's package is not
// installed; missing says why.
var (
	serverURL, missing string
	databases          atomic.Int64
)

// Main starts a server, runs the tests of a package, and stops it: for its TestMain.
// Where there is no server, tests that ask for a database are skipped, but on CI.
func Main(m *testing.M) (code int) {
	stop, err := start()
	if err != nil {
		missing = err.Error()
	} else {
		defer stop()
	}
	return m.Run()
}

// start starts a server of its own in a temporary folder, as a user who is not root
// (the server refuses root), on a socket in that folder only.
func start() (stop func(), err error) {
	bins, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil || len(bins) == 0 {
		return nil, fmt.Errorf("no /usr/lib/postgresql/*/bin: install Debian's package postgresql")
	}
	bin := bins[len(bins)-1]
	dir, err := os.MkdirTemp("/tmp", "wideberth-pg") // a socket's path may not be long
	if err != nil {
		return nil, err
	}
	cred, err := unprivileged(dir)
	if err != nil {
		return nil, err
	}
	run := func(name string, args ...string) error {
		cmd := exec.Command(filepath.Join(bin, name), args...)
		cmd.Dir, cmd.Env = dir, append(os.Environ(), "LC_ALL=C.UTF-8", "HOME="+dir)
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: cred}
		if out, err := cmd.CombinedOutput(); err != nil {
			return fmt.Errorf("%s: %w: %s", name, err, out)
		}
		return nil
	}
	data := filepath.Join(dir, "data")
	if err := run("initdb", "-D", data, "-U", "walker", "-A", "trust", "-N", "-E", "UTF8"); err != nil {
		return nil, err
	}
	// fsync off: this server's data are thrown away.
	if err := run("pg_ctl", "-D", data, "-w", "-l", filepath.Join(dir, "log"), "-o",
		fmt.Sprintf("-c listen_addresses='' -c unix_socket_directories='%s' -c fsync=off -c max_connections=60 -c shared_buffers=16MB", dir), "start"); err != nil {
		return nil, err
	}
	serverURL = "postgres://walker@/postgres?host=" + url.QueryEscape(dir)
	return func() {
		if err := run("pg_ctl", "-D", data, "-m", "immediate", "stop"); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.RemoveAll(dir)
	}, nil
}

// unprivileged gives the folder to the user that the server runs as: whoever
// runs the tests or, for root, Debian's user postgres.
func unprivileged(dir string) (*syscall.Credential, error) {
	if os.Getuid() != 0 {
		return nil, nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return nil, fmt.Errorf("running as root, and there is no user postgres to start the server as: %w", err)
	}
	uid, err1 := strconv.Atoi(u.Uid)
	gid, err2 := strconv.Atoi(u.Gid)
	if err1 != nil || err2 != nil {
		return nil, fmt.Errorf("user postgres has no numbers: %s:%s", u.Uid, u.Gid)
	}
	if err := os.Chmod(dir, 0o711); err != nil {
		return nil, err
	}
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, os.Chown(dir, uid, gid)
}

// Database is the URL of a new, empty database.
func Database(t testing.TB) string {
	t.Helper()
	if serverURL == "" {
		if os.Getenv("CI") == "true" {
			t.Fatalf("PostgreSQL is missing: %s", missing)
		}
		t.Skipf("skipped on PostgreSQL: %s", missing)
	}
	name := fmt.Sprintf("t%d", databases.Add(1))
	db, err := sql.Open("pgx", serverURL)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("CREATE DATABASE " + name); err != nil {
		t.Fatal(err)
	}
	return strings.Replace(serverURL, "/postgres?", "/"+name+"?", 1)
}
