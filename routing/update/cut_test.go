package update_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/osmdata/cut"
	"wideberth/routing/snapshot"
)

// plain is wide ground with streets, ponds in several pieces, banned turns, houses and
// shops, drawn by chance and cut into many tiles.
type plain struct {
	rng   *rand.Rand
	text  []byte
	nodes int // numbered from 1
	ways  int
}

const (
	plainSide = 24   // nodes a side
	plainStep = 0.02 // degrees between them
)

func (p *plain) place(n int) (lat, lon float64) {
	return 50 + plainStep*float64((n-1)/plainSide), 8 + plainStep*float64((n-1)%plainSide)
}

func newPlain(seed uint64) *plain {
	p := &plain{rng: rand.New(rand.NewPCG(seed, 1)), nodes: plainSide * plainSide}
	p.text = fmt.Appendf(nil, `<osm version="0.6"><bounds minlat="50" minlon="8" maxlat="%g" maxlon="%g"/>`, 50+plainStep*plainSide, 8+plainStep*plainSide)
	for n := 1; n <= p.nodes; n++ {
		lat, lon := p.place(n)
		tags := ""
		if n%7 == 0 {
			tags = `<tag k="shop" v="bakery"/><tag k="amenity" v="cafe"/>`
		}
		p.text = fmt.Appendf(p.text, `<node id="%d" version="1" lat="%.7f" lon="%.7f">%s</node>`, n, lat, lon, tags)
	}
	way := func(tags string, refs ...int) {
		p.ways++
		p.text = fmt.Appendf(p.text, `<way id="%d" version="1">`, p.ways)
		for _, r := range refs {
			p.text = fmt.Appendf(p.text, `<nd ref="%d"/>`, r)
		}
		p.text = append(append(p.text, tags...), `</way>`...)
	}
	for n := 1; n < p.nodes-plainSide; n++ {
		switch p.rng.IntN(6) {
		case 0, 1:
			way(`<tag k="highway" v="residential"/>`, n, n+1, n+1+plainSide)
		case 2:
			way(`<tag k="highway" v="path"/>`, n, n+plainSide)
		case 3:
			way(`<tag k="building" v="house"/>`, n, n+1, n+1+plainSide, n+plainSide, n)
		case 4:
			way(`<tag k="power" v="line"/>`, n, p.nodes) // which nobody keeps
		}
	}
	members := p.ways
	way("", 1, 5, 5+5*plainSide)
	way("", 5+5*plainSide, 1+5*plainSide, 1)
	relation := func(id int, tags string, members ...string) {
		p.text = fmt.Appendf(p.text, `<relation id="%d" version="1">`, id)
		for _, m := range members {
			p.text = append(p.text, m...)
		}
		p.text = append(append(p.text, tags...), `</relation>`...)
	}
	member := func(kind string, ref int, role string) string {
		return fmt.Sprintf(`<member type="%s" ref="%d" role="%s"/>`, kind, ref, role)
	}
	relation(1, `<tag k="type" v="multipolygon"/><tag k="natural" v="water"/>`, member("way", members+1, "outer"), member("way", members+2, "outer"))
	relation(2, `<tag k="type" v="restriction"/><tag k="restriction" v="no_left_turn"/>`, member("way", 3, "from"), member("node", 300, "via"), member("way", 4, "to"))
	relation(3, `<tag k="type" v="route"/>`, member("way", 1, ""))
	p.text = append(p.text, `</osm>`...)
	return p
}

// changes draws some changes of all sorts.
func (p *plain) changes() string {
	node := func(n int, version int, shift float64, tags string) string {
		lat, lon := p.place(n)
		return fmt.Sprintf(`<node id="%d" version="%d" lat="%.7f" lon="%.7f">%s</node>`, n, version, lat+shift, lon, tags)
	}
	out := ""
	for range 1 + p.rng.IntN(4) {
		n, w := 1+p.rng.IntN(p.nodes), 1+p.rng.IntN(p.ways)
		switch p.rng.IntN(9) {
		case 0:
			out += "<modify>" + node(n, 2, .003, "") + "</modify>"
		case 1:
			out += "<modify>" + node(n, 2, 0, `<tag k="shop" v="bakery"/><tag k="amenity" v="cafe"/>`) + "</modify>" // of those that have it another version alone
		case 2:
			out += fmt.Sprintf(`<delete><node id="%d" version="2"/></delete>`, n)
		case 3:
			out += fmt.Sprintf(`<delete><way id="%d" version="2"/></delete>`, w)
		case 4:
			out += fmt.Sprintf(`<modify><way id="%d" version="2"><nd ref="%d"/><nd ref="%d"/><tag k="highway" v="track"/></way></modify>`, w, n, 1+n%p.nodes)
		case 5:
			out += fmt.Sprintf(`<create>%s<way id="%d" version="1"><nd ref="%d"/><nd ref="%d"/><tag k="highway" v="footway"/></way></create>`, node(n, 2, .001, ""), 9000+n, n, 1+p.rng.IntN(p.nodes))
		case 6:
			out += fmt.Sprintf(`<delete><relation id="%d" version="2"/></delete>`, 1+p.rng.IntN(3))
		case 7:
			out += fmt.Sprintf(`<modify><relation id="2" version="2"><member type="way" ref="%d" role="from"/><member type="node" ref="%d" role="via"/><member type="way" ref="4" role="to"/><tag k="type" v="restriction"/><tag k="restriction" v="no_left_turn"/></relation></modify>`, w, n)
		case 8:
			out += fmt.Sprintf(`<delete><way id="%d" version="2"/></delete><create><way id="%d" version="3"><nd ref="%d"/><nd ref="%d"/><tag k="highway" v="steps"/></way></create>`, w, w, n, 1+n%p.nodes)
		}
	}
	return out
}

// TestKeptBlocksAreThoseOfAWholeCut: of an extract that was changed, blocks are kept that
// nothing changed in, and what comes out is what a cut of the changed extract gives. The
// changes are laid over it by osmium-tool.
func TestKeptBlocksAreThoseOfAWholeCut(t *testing.T) {
	o := cut.Options{Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: 500, TileBytes: 300}
	kept, all := 0, 0
	for seed := range uint64(6) {
		p := newPlain(seed)
		old, file := write(t, "old.osm", p.text), osc(t, p.changes())
		now := applied(t, old, file)
		whole, err := o.Cut(t.Context(), bytes.NewReader(read(t, now)), t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		if _, err := o.Cut(t.Context(), bytes.NewReader(p.text), dir); err != nil {
			t.Fatal(err)
		}
		stood := stats(t, dir)
		set := change.NewSet(change.UsualMemory, "")
		if _, err := set.AddFile(t.Context(), file); err != nil {
			t.Fatal(err)
		}
		e, err := osmdata.OpenElements(t.Context(), bytes.NewReader(p.text), 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		boxes, err := set.Differs(t.Context(), change.Of(e, nil), o.Picker)
		if err != nil {
			t.Fatal(err)
		}
		o := o
		o.Since = &cut.Since{Extract: bytes.NewReader(p.text)}
		for _, b := range boxes {
			o.Since.Boxes = append(o.Since.Boxes, [4]float64{b.West, b.South, b.East, b.North})
		}
		got, err := o.Cut(t.Context(), bytes.NewReader(read(t, now)), dir)
		if err != nil {
			t.Fatal(err)
		}
		got.MapTime = whole.MapTime
		if !slices.EqualFunc(got.Blocks, whole.Blocks, func(a, b cut.Block) bool { a.Bytes, b.Bytes = 0, 0; return a == b }) || got.Of != whole.Of {
			t.Errorf("seed %d, %s: %d blocks, want %d", seed, read(t, file), len(got.Blocks), len(whole.Blocks))
			for i := range min(len(got.Blocks), len(whole.Blocks)) {
				if got.Blocks[i].Hash != whole.Blocks[i].Hash {
					t.Errorf("block %+v, want %+v", got.Blocks[i], whole.Blocks[i])
				}
			}
		}
		files := stats(t, dir)
		for name, info := range files {
			if was, there := stood[name]; there && os.SameFile(was, info) {
				kept++
			}
			all++
		}
		if len(files) != len(got.Blocks)+1 {
			t.Errorf("seed %d: %d files for %d blocks", seed, len(files), len(got.Blocks))
		}
	}
	if kept < all/4 {
		t.Errorf("only %d of %d blocks were kept", kept, all)
	}
	t.Logf("%d of %d blocks kept", kept, all)
}

// stats are the files of the blocks in a folder.
func stats(t *testing.T, dir string) map[string]os.FileInfo {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join(dir, cut.Folder))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]os.FileInfo{}
	for _, e := range entries {
		if out[e.Name()], err = e.Info(); err != nil {
			t.Fatal(err)
		}
	}
	return out
}
