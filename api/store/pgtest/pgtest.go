// Package pgtest starts throw-away PostgreSQL servers for tests: on a socket and a
// port of their own, in a temporary folder, as a user who is not root. It hides how
// Debian's package is found and run.
package pgtest

import (
	"context"
	"database/sql"
	"fmt"
	"net"
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

	_ "github.com/jackc/pgx/v5/stdlib" // the driver for PostgreSQL
)

// Server is a running server. Its data are thrown away with it.
type Server struct {
	URL  string // of its first database, over the socket
	Port int    // on 127.0.0.1

	bin, dir  string
	cred      *syscall.Credential
	databases atomic.Int64
}

// Start starts a server. durable makes it keep what it acknowledged through a kill of
// itself, which costs time.
func Start(durable bool) (*Server, error) {
	bins, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil || len(bins) == 0 {
		return nil, fmt.Errorf("no /usr/lib/postgresql/*/bin: install Debian's package postgresql")
	}
	s := &Server{bin: bins[len(bins)-1]}
	if s.dir, err = os.MkdirTemp("/tmp", "wideberth-pg"); err != nil { // a socket's path may not be long
		return nil, err
	}
	if s.cred, err = unprivileged(s.dir); err != nil {
		return nil, err
	}
	if s.Port, err = freePort(); err != nil {
		return nil, err
	}
	if err := s.run("initdb", "-D", s.data(), "-U", "walker", "-A", "trust", "-N", "-E", "UTF8"); err != nil {
		return nil, err
	}
	fsync := "off"
	if durable {
		fsync = "on"
	}
	conf := fmt.Sprintf("listen_addresses = '127.0.0.1'\nport = %d\nunix_socket_directories = '%s'\nfsync = %s\nmax_connections = 60\nshared_buffers = 16MB\n", s.Port, s.dir, fsync)
	f, err := os.OpenFile(filepath.Join(s.data(), "postgresql.conf"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return nil, err
	}
	if _, err := f.WriteString(conf); err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, err
	}
	s.URL = fmt.Sprintf("postgres://walker@/postgres?host=%s&port=%d", url.QueryEscape(s.dir), s.Port)
	return s, s.Up()
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

// Up starts it again after Down.
func (s *Server) Up() error {
	return s.run("pg_ctl", "-D", s.data(), "-w", "-l", filepath.Join(s.dir, "log"), "start")
}

// Down stops it: "fast" ends connections and writes all down, "immediate" is like
// pulling the plug.
func (s *Server) Down(mode string) error {
	return s.run("pg_ctl", "-D", s.data(), "-w", "-m", mode, "stop")
}

// Stop ends it for good.
func (s *Server) Stop() {
	if err := s.Down("immediate"); err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
	os.RemoveAll(s.dir)
}

// Socket is the file of its socket.
func (s *Server) Socket() string { return filepath.Join(s.dir, fmt.Sprintf(".s.PGSQL.%d", s.Port)) }

// Database makes a new, empty database and gives its URL.
func (s *Server) Database() (string, error) {
	name := fmt.Sprintf("t%d", s.databases.Add(1))
	db, err := sql.Open("pgx", s.URL)
	if err != nil {
		return "", err
	}
	defer db.Close()
	if _, err := db.ExecContext(context.Background(), "CREATE DATABASE "+name); err != nil {
		return "", err
	}
	return strings.Replace(s.URL, "/postgres?", "/"+name+"?", 1), nil
}

// run runs one of its programs.
func (s *Server) run(name string, args ...string) error {
	cmd := exec.CommandContext(context.Background(), filepath.Join(s.bin, name), args...)
	cmd.Dir, cmd.Env = s.dir, append(os.Environ(), "LC_ALL=C.UTF-8", "HOME="+s.dir)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.cred}
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w: %s", name, err, out)
	}
	return nil
}

// Fresh is the URL of a new, empty database. Where the server is nil, for the reason that
// Start gave, the test is skipped; in CI it fails.
func (s *Server) Fresh(t testing.TB, why error) string {
	t.Helper()
	if s == nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("PostgreSQL is missing: %v", why)
		}
		t.Skipf("skipped on PostgreSQL: %v", why)
	}
	url, err := s.Database()
	if err != nil {
		t.Fatal(err)
	}
	return url
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

func freePort() (int, error) {
	l, err := (&net.ListenConfig{}).Listen(context.Background(), "tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	return l.Addr().(*net.TCPAddr).Port, l.Close()
}
