// Command wideberth imports an OpenStreetMap extract, plans low-trigger walks
// for a dog on it, and serves them over HTTP.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"wideberth/api/store/database"
	"wideberth/routing/briefing"
	"wideberth/routing/reach"

	"github.com/alecthomas/kong"
)

// version is set when the program is built.
var version = "unversioned"

// command is the whole command line.
type command struct {
	Import  importCommand  `cmd:"" help:"Read a map extract and write a snapshot to plan on."`
	Update  updateCommand  `cmd:"" help:"Bring a snapshot up to what has changed on the map since."`
	Check   checkCommand   `cmd:"" help:"Walk a snapshot's invariants and print every breach."`
	Plan    planCommand    `cmd:"" help:"Plan walks and print them."`
	Hours   hoursCommand   `cmd:"" help:"Tell the quiet hours of a week for a walk from a door."`
	HandOut handOutCommand `cmd:"" name:"handout" help:"Write a walk on one page, to print and carry."`
	WayOut  wayOutCommand  `cmd:"" name:"wayout" help:"Tell what to do here when a trigger stands or comes there."`
	Limits  limitsCommand  `cmd:"" help:"List what one can ask to avoid or keep away from on a map, and what the map knows of it."`
	Where   whereCommand   `cmd:"" help:"Say where to go: the door now or at a better hour, and places by car."`
	Outing  outingCommand  `cmd:"" help:"Plan an outing that keeps many dogs apart, and replay it."`
	Visits  visitsCommand  `cmd:"" help:"Plan training visits that come nearer to triggers by small steps."`
	Setup   setupCommand   `cmd:"" help:"Find ground and minutes for a meeting with a known helper."`
	Explain explainCommand `cmd:"" help:"Take the hazard of one place and hour apart."`
	Counts  countsCommand  `cmd:"" help:"Tell how far the predicted levels lie from what was counted on the ground; write or delete what an account counted."`
	Serve   serveCommand   `cmd:"" help:"Answer over HTTP, with the page."`
	Worker  workerCommand  `cmd:"" help:"Do steps of imports that other machines share out, until a signal ends it."`
	Config  configCommand  `cmd:"" help:"Print the settings that serve would have, and where each comes from."`
	OpenAPI openAPICommand `cmd:"" name:"openapi" help:"Print the description of the HTTP interface (OpenAPI 3.1)."`
	Demo    demoCommand    `cmd:"" help:"Plan a walk for an invented dog, write it down and serve."`
	Token   tokenCommand   `cmd:"" help:"Make a token for an account, and the account if need be."`
	Backup  backupCommand  `cmd:"" help:"Copy what is kept to a new file."`
	Restore restoreCommand `cmd:"" help:"Put a backup back."`
	Version versionCommand `cmd:"" help:"Print the program's version."`
}

// world is what the program touches outside itself; tests hand in their own.
type world struct {
	out, err io.Writer
	tty      bool // err is a terminal: progress may be drawn
	now      func() time.Time
	hangup   chan os.Signal // SIGHUP, nil where it is ignored: serve reads its maps anew, other commands end
	args     []string       // of the command line, the environment and the file of settings, of which some may be secret
}

// json prints a value for other programs to read.
func (w *world) json(v any) error {
	enc := json.NewEncoder(w.out)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	var hangup chan os.Signal
	if !signal.Ignored(syscall.SIGHUP) { // as nohup does
		hangup = make(chan os.Signal, 1)
		signal.Notify(hangup, syscall.SIGHUP)
	}
	info, err := os.Stderr.Stat()
	w := &world{hangup: hangup, out: os.Stdout, err: os.Stderr, now: time.Now, tty: err == nil && info.Mode()&os.ModeCharDevice != 0}
	code := run(ctx, w, os.Args[1:])
	stop()
	os.Exit(code)
}

// errHelp ends a run that only asked for help.
var errHelp = errors.New("help was asked for")

// run is the whole program as a function of its arguments; it returns the exit
// code.
func run(ctx context.Context, w *world, args []string) (code int) {
	w.args = args
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var c command
	fromFile := &file{}
	parser, err := kong.New(&c, kong.Name("wideberth"), kong.Writers(w.out, w.err),
		kong.WithHyphenPrefixedParameters(true), // south of the equator latitudes begin with one
		kong.Description("Plans walks on which a leash-reactive dog's triggers stay outside its working distance."),
		kong.Exit(func(int) { panic(errHelp) }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Resolvers(fromFile), kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(w))
	if err != nil {
		return fail(w, err)
	}
	defer func() {
		r := recover()
		if err, is := r.(error); is && errors.Is(err, errHelp) {
			code = 0
		} else if r != nil {
			panic(r)
		}
	}()
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	w.args = append(slices.Clone(w.args), fromFile.secrets()...)
	if fromFile.err != nil {
		err = fromFile.err
	}
	if err != nil {
		return fail(w, &usage{err})
	}
	if k.Command() != "serve" {
		go func() {
			select {
			case <-w.hangup:
				stop()
			case <-ctx.Done():
			}
		}()
	}
	return fail(w, k.Run())
}

// usage is a mistake in the words of the command line.
type usage struct{ error }

func (u *usage) Unwrap() error { return u.error }

// words tell what is printed.
var words briefing.Words

// plain is a text with ordinary spaces, which every terminal shows and every program
// that reads it splits at.
func plain(s string) string { return strings.ReplaceAll(s, "\u202f", " ") }

// fail prints an error on one line with its hint and gives the exit code that
// goes with it.
func fail(w *world, err error) int {
	if err == nil {
		return 0
	}
	code, hint := classify(err)
	line := strings.ReplaceAll(err.Error(), "\n", "; ")
	if none := (*reach.Infeasible)(nil); errors.As(err, &none) {
		line = words.Refusal(none, 0)
	}
	if hint != "" {
		line += " (" + hint + ")"
	}
	fmt.Fprintln(w.err, "wideberth: "+hushed(plain(line), w.args))
	return code
}

// address is what may be the address of a database with a password in it, be it
// mistyped or not.
var address = regexp.MustCompile(`(?i)[a-z]*:?//?[^\s"']*@[^\s"',;]*|[^\s"']*(postgres|passw)[^\s"']*[@=:][^\s"',;]+`)

// exampleAddress may be shown.
const exampleAddress = "postgres://user@host/database"

// hushed is a line without what may be a password: in an address, or a word of the
// command line that looks like one and is repeated by whoever did not know it.
func hushed(line string, args []string) string {
	for _, a := range args {
		if _, value, ok := strings.Cut(a, "="); ok && strings.HasPrefix(a, "-") {
			a = value
		}
		if database.Redacted(a) != a {
			line = strings.ReplaceAll(line, a, "[address]")
		}
	}
	return address.ReplaceAllStringFunc(line, func(found string) string {
		if found == exampleAddress {
			return found
		}
		return "[address]"
	})
}

type versionCommand struct{}

func (versionCommand) Run(w *world) error {
	_, err := fmt.Fprintln(w.out, "wideberth", version)
	return err
}
