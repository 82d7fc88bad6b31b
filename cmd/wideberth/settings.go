package main

import (
	"encoding/json"
	"fmt"
	"net/netip"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/alecthomas/kong"

	"wideberth/api/store/database"
	"wideberth/osmdata/fault"
	"wideberth/routing/atlas"
)

// settings are what a server is told by whoever operates it: on the command line, else
// in the environment, else in a file, else by default.
type settings struct {
	Config    string        `env:"WIDEBERTH_CONFIG" placeholder:"FILE" help:"JSON object of further settings, by the names of these flags."`
	Snapshot  []string      `required:"" env:"WIDEBERTH_SNAPSHOT" placeholder:"FILE|DIR|URL" help:"Snapshot written by import, or a folder or bucket of tiles; may be given several times, or with commas between. SIGHUP reads them anew."`
	Memory    string        `env:"WIDEBERTH_MEMORY" placeholder:"SIZE" help:"How much of memory open maps may take, like 2GB: the bytes of their files, and twice those of what is derived from them. Those not asked for longest are closed. The program itself takes some 100 MB beside that. Left out: as much as there is."`
	Cache     string        `env:"WIDEBERTH_CACHE" placeholder:"DIR" help:"Folder for the tiles of maps that lie in a bucket; left out: wideberth in the user's folder for what can be thrown away."`
	CacheSize string        `env:"WIDEBERTH_CACHE_SIZE" placeholder:"SIZE" help:"How much of each bucket is kept there, like 20GB; left out: all that was needed."`
	Listen    string        `default:"127.0.0.1:8080" env:"WIDEBERTH_LISTEN" placeholder:"ADDR" help:"Address to answer at; left out: 127.0.0.1:8080."`
	Store     string        `env:"WIDEBERTH_STORE" placeholder:"FILE|URL" help:"Where dogs and walks are kept: a SQLite file, or a postgres:// URL; left out: the snapshot's name with .db."`
	Metrics   string        `env:"WIDEBERTH_METRICS" placeholder:"ADDR" help:"Second address, for figures in Prometheus' format at /metrics, and POST /reload, which reads the maps anew; left out: none. Let only your own machines reach it."`
	Proxies   []string      `env:"WIDEBERTH_PROXIES" placeholder:"NET,..." help:"Addresses or networks of reverse proxies whose X-Forwarded-For is believed, like 10.0.0.0/8; left out: nobody's."`
	Drain     time.Duration `default:"0s" env:"WIDEBERTH_DRAIN" placeholder:"TIME" help:"How long to answer on after a signal to end, while /readyz says that it goes, like 5s; left out: not at all. What runs then has ten seconds to finish."`
	Log       string        `enum:"text,json" default:"text" env:"WIDEBERTH_LOG" help:"text or json."`
	Quiet     bool          `env:"WIDEBERTH_QUIET" help:"Do not log requests."`
	Clock     string        `placeholder:"TIME" help:"Begin at this time, with its zone, instead of now: to rehearse another day. What is kept is dated by it."`
}

// longestDrain is longer than any balancer needs to look twice.
const longestDrain = 10 * time.Minute

// maps is how maps are kept open.
func (c *settings) maps() (o atlas.Options, err error) {
	o.Cache = c.Cache
	if o.MemoryBytes, err = sizeOf("memory", c.Memory); err == nil {
		o.CacheBytes, err = sizeOf("cache-size", c.CacheSize)
	}
	return o, err
}

// proxies reads whose word is believed.
func (c *settings) proxies() ([]netip.Prefix, error) {
	var out []netip.Prefix
	for _, text := range c.Proxies {
		text = strings.TrimSpace(text)
		p, err := netip.ParsePrefix(text)
		if a, errAddr := netip.ParseAddr(text); errAddr == nil && a.Zone() == "" {
			p, err = netip.PrefixFrom(a, a.BitLen()), nil
		}
		if err != nil {
			return nil, wrong("proxies", text, "give addresses or networks, like 127.0.0.1 or 10.0.0.0/8")
		}
		out = append(out, p.Masked())
	}
	return out, nil
}

// drain checks how long to answer on.
func (c *settings) drain() (time.Duration, error) {
	if c.Drain < 0 || c.Drain > longestDrain {
		return 0, wrong("drain", c.Drain.String(), fmt.Sprintf("give 0s to %v", longestDrain))
	}
	return c.Drain, nil
}

// file is the resolver of settings that stand in the file named by --config. What the
// command line or the environment says goes before it.
type file struct {
	path   string // of what was read
	values map[string]any
	err    error // what is wrong with the file itself, and with none of the flags
}

func (f *file) Validate(*kong.Application) error { return nil }

// Resolve gives what the file says of a flag, nil where it says nothing or has nothing
// to say.
func (f *file) Resolve(c *kong.Context, parent *kong.Path, flag *kong.Flag) (any, error) {
	i := slices.IndexFunc(parent.Flags, func(x *kong.Flag) bool { return x.Name == "config" })
	if i < 0 || flag.Name == "config" || fromEnvironment(flag) != "" {
		return nil, nil
	}
	at := parent.Flags[i]
	path, _ := c.FlagValue(at).(string)
	if name := fromEnvironment(at); path == "" && name != "" {
		path = os.Getenv(name)
	}
	if path == "" {
		return nil, nil
	}
	if path != f.path {
		f.path, f.values = path, nil
		f.err = f.read(path, parent.Flags)
	}
	value, ok := f.values[flag.Name]
	if !ok {
		return nil, nil
	}
	return text(value), nil
}

// read reads the file and refuses what is no setting.
func (f *file) read(path string, flags []*kong.Flag) error {
	raw, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, &f.values); err != nil { // its words name a place, and no value
		return fault.Problems{{Pointer: "--config", Value: path, Mend: "must be one JSON object: " + err.Error()}}
	}
	for name, value := range f.values {
		if name == "config" || !slices.ContainsFunc(flags, func(x *kong.Flag) bool { return x.Name == name }) {
			return fault.Problems{{Pointer: path, Value: name, Mend: "is no setting: wideberth serve --help lists them"}}
		}
		if text(value) == "" && value != "" {
			return fault.Problems{{Pointer: path, Value: name, Mend: "give a text, a number, true or false, or a list of texts"}}
		}
	}
	return nil
}

// text is a value of a JSON document as it would stand on a command line, "" for
// what cannot.
func text(value any) string {
	switch v := value.(type) {
	case string:
		return v
	case bool, float64:
		return fmt.Sprint(v)
	case []any:
		parts := make([]string, len(v))
		for i, x := range v {
			if parts[i], _ = x.(string); parts[i] == "" {
				return ""
			}
		}
		return strings.Join(parts, ",")
	}
	return ""
}

// fromEnvironment is the variable by which the environment sets a flag, "" if it does
// not.
func fromEnvironment(flag *kong.Flag) string {
	for _, name := range flag.Envs {
		if _, ok := os.LookupEnv(name); ok {
			return name
		}
	}
	return ""
}

// secrets are the values that may hold a password, from wherever they came.
func (f *file) secrets() []string {
	out := []string{os.Getenv("WIDEBERTH_STORE")}
	for _, v := range f.values {
		out = append(out, text(v))
	}
	return out
}

type configCommand struct {
	settings
}

// Run prints the settings that serve would have with the same words, environment and
// file, and where each comes from. Addresses of databases are not shown, as they may
// hold a password.
func (c *configCommand) Run(w *world, k *kong.Context) error {
	if _, err := c.proxies(); err != nil {
		return err
	}
	if _, err := c.drain(); err != nil {
		return err
	}
	if _, err := c.maps(); err != nil {
		return err
	}
	table := tabwriter.NewWriter(w.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "SETTING\tVALUE\tFROM\tVARIABLE")
	for _, flag := range k.Selected().Flags {
		value := shown(k.FlagValue(flag))
		if flag.Name == "store" && value == "" {
			value = shown(storeBeside(c.Snapshot))
		}
		variable := strings.Join(flag.Envs, " ")
		if variable == "" {
			variable = "-"
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", flag.Name, value, c.origin(k, flag), variable)
	}
	return table.Flush()
}

// shown is a value for people.
func shown(value any) string {
	if list, ok := value.([]string); ok {
		value = strings.Join(list, ",")
	}
	return database.Redacted(fmt.Sprint(value))
}

// origin is where a setting comes from.
func (c *configCommand) origin(k *kong.Context, flag *kong.Flag) string {
	for _, p := range k.Path {
		if p.Flag == flag && p.Resolved {
			return "file " + c.Config
		} else if p.Flag == flag {
			return "command line"
		}
	}
	if name := fromEnvironment(flag); name != "" {
		return "environment"
	}
	return "default"
}
