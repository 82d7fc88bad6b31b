package main

import (
	"bufio"
	"bytes"
	"io"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"sync"
	"syscall"
	"testing"
	"time"
)

// asProgram is the variable that makes this test binary the program itself: main, with
// its own signals and clock, in a process of its own.
const asProgram = "WIDEBERTH_AS_PROGRAM"

// program is a command that runs the program: the one named in WIDEBERTH_BIN, as it is
// given to people, or this test binary in its place.
func program(t testing.TB, args ...string) *exec.Cmd {
	t.Helper()
	bin := os.Getenv("WIDEBERTH_BIN")
	if bin == "" {
		var err error
		if bin, err = os.Executable(); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(bin, args...)
	cmd.Env = append(os.Environ(), asProgram+"=1")
	return cmd
}

// running is a server in a process of its own.
type running struct {
	t     testing.TB
	cmd   *exec.Cmd
	base  string // http://127.0.0.1:PORT
	about string // likewise, of its figures, "" where it has none
	said  *bytes.Buffer
	ended chan error // how it ended
	once  sync.Once
	how   error
}

var figuresAt = regexp.MustCompile(`^figures at (http://\S+)/metrics`)

// serving starts a server, which is killed at the latest when the test ends.
func serving(t testing.TB, args ...string) *running {
	t.Helper()
	return servingBy(t, program(t, append([]string{"serve", "--quiet", "--listen", "127.0.0.1:0"}, args...)...))
}

// servingBy starts a server by a command.
func servingBy(t testing.TB, cmd *exec.Cmd) *running {
	t.Helper()
	p := &running{t: t, cmd: cmd, said: &bytes.Buffer{}, ended: make(chan error, 1)}
	cmd.Stderr = p.said // read when it has ended
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // it may have ended
		_ = p.wait()
	})
	in := bufio.NewReader(out)
	for p.base == "" {
		line, err := in.ReadString('\n')
		if m := servingAt.FindStringSubmatch(line); m != nil {
			p.base = "http://" + net.JoinHostPort("127.0.0.1", m[1])
		} else if m := figuresAt.FindStringSubmatch(line); m != nil {
			p.about = m[1]
		} else {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
			p.ended <- nil
			t.Fatalf("serve said %q, %v: %s", line, err, p.said)
		}
	}
	go func() {
		_, _ = io.Copy(io.Discard, in)
		p.ended <- cmd.Wait()
	}()
	return p
}

// signal sends it a signal.
func (p *running) signal(s syscall.Signal) {
	p.t.Helper()
	if err := p.cmd.Process.Signal(s); err != nil {
		p.t.Fatal(err)
	}
}

// wait waits for its end and gives how it ended, nil for exit code 0.
func (p *running) wait() error {
	p.once.Do(func() { p.how = <-p.ended })
	return p.how
}

// kill ends it as a power cut would.
func (p *running) kill() {
	p.t.Helper()
	p.signal(syscall.SIGKILL)
	_ = p.wait() // killed: that is what was asked for
}

// finished waits for its end, which must be a good one.
func (p *running) finished() {
	p.t.Helper()
	if err := p.wait(); err != nil {
		p.t.Errorf("ended with %v: %s", err, p.said)
	}
}

// townFile is a snapshot of the invented town.
func townFile(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "town.wb")
	var said bytes.Buffer
	if code := run(t.Context(), &world{out: io.Discard, err: &said, now: standing}, []string{"import", "--out", path}); code != 0 {
		t.Fatal(said.String())
	}
	return path
}

// TestHangUp sends the real program the real signal: it answers on from its maps, read
// anew, and stays where whoever started it asked it to ignore the signal.
func TestHangUp(t *testing.T) {
	// Under nohup the signal is ignored here and so by what is started from here; one that
	// is caught begins anew in a program that is started.
	caught := make(chan os.Signal, 1)
	signal.Notify(caught, syscall.SIGHUP)
	defer signal.Stop(caught)
	town := townFile(t)
	p := serving(t, "--snapshot", town)
	if got := status(t, p.base, ""); got != 200 {
		t.Fatalf("status %d", got)
	}
	p.signal(syscall.SIGHUP)
	if got := status(t, p.base, ""); got != 200 {
		t.Fatalf("after the signal: status %d", got)
	}
	p.signal(syscall.SIGTERM)
	p.finished()

	plain := program(t, "serve", "--quiet", "--listen", "127.0.0.1:0", "--snapshot", town)
	cmd := exec.Command("sh", append([]string{"-c", `trap "" HUP; exec "$@"`, "sh"}, plain.Args...)...) // as nohup of POSIX does
	cmd.Env = plain.Env
	p = servingBy(t, cmd)
	p.signal(syscall.SIGHUP)
	for range 3 {
		if got := status(t, p.base, ""); got != 200 {
			t.Fatalf("with the signal ignored: status %d", got)
		}
	}
	p.signal(syscall.SIGTERM)
	p.finished()
}

// TestKilledImportLeavesNothing kills an import of the demo's town whenever: it leaves
// no folder behind, and no half of a snapshot.
func TestKilledImportLeavesNothing(t *testing.T) {
	for _, after := range []int{20, 100, 250} {
		temp, dir := t.TempDir(), t.TempDir()
		cmd := program(t, "import", "--out", filepath.Join(dir, "town.wb"))
		cmd.Env = append(cmd.Env, "TMPDIR="+temp)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(after) * time.Millisecond) // not waiting for anything: any moment is a good one to be killed at
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if left, err := os.ReadDir(temp); err != nil || len(left) > 0 {
			t.Errorf("killed after %d ms: %v is left, %v", after, left, err)
		}
	}
}
