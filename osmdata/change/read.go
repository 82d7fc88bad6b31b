package change

import (
	"bufio"
	"bytes"
	"compress/bzip2"
	"compress/gzip"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"wideberth/osmdata"

	"github.com/paulmach/osm"
)

// ErrNotChanges says that a file is of another kind.
var ErrNotChanges = errors.New("not a file of changes: want .osc plain, gzipped or bzip2-ed")

// mostElementBytes bounds one element of a file, so that a damaged or hostile file costs
// no more memory than this. The database takes 32,000 members of a relation
// (OpenStreetMap wiki, "API v0.6"), about 2 MB of XML; the rest is room.
const mostElementBytes = 16 << 20

// Read hands every version of an object in a change file (OsmChange, OpenStreetMap wiki,
// https://wiki.openstreetmap.org/wiki/OsmChange) to take, in the order of the file: a
// *osm.Node, *osm.Way or *osm.Relation, Visible false where it was deleted. The file is
// XML plain, gzipped or bzip2-ed, told apart by content. Memory is that of one object.
//
// A damaged file, or one of another kind, is an *osmdata.FormatError under the given
// name. Whatever was taken before it is no whole change and must be dropped. An error of
// take ends the reading and is given back as it is.
func Read(ctx context.Context, r io.Reader, name string, take func(osm.Object) error) error {
	count := &counter{r: r}
	p := parser{name: name, count: count, take: take}
	plain, err := unpack(count)
	if err != nil {
		return p.broken(err)
	}
	p.guard = &guard{r: plain}
	p.dec = xml.NewDecoder(p.guard)
	return p.document(ctx)
}

// unpack looks at the first bytes and takes off what the file is packed with.
func unpack(r io.Reader) (io.Reader, error) {
	src := bufio.NewReaderSize(r, 1<<16)
	head, err := src.Peek(3)
	switch {
	case len(head) == 0 && errors.Is(err, io.EOF):
		return nil, fmt.Errorf("%w (the file is empty)", ErrNotChanges)
	case err != nil && !errors.Is(err, io.EOF):
		return nil, err
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}):
		return gzip.NewReader(src)
	case bytes.HasPrefix(head, []byte("BZh")):
		return bzip2.NewReader(src), nil
	}
	return src, nil
}

// Head gives the first bytes of a file of changes or of an extract in XML, unpacked, as
// far as 4 kB; of any other file its own.
func Head(r io.Reader) ([]byte, error) {
	plain, err := unpack(r)
	if err != nil {
		return nil, reason(err)
	}
	head := make([]byte, 4096)
	n, err := io.ReadFull(plain, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, reason(err)
	}
	return head[:n], nil
}

// parser goes through the elements of one document.
type parser struct {
	name  string
	count *counter
	guard *guard
	dec   *xml.Decoder
	take  func(osm.Object) error
}

// document reads the whole file: to its end, where the checksum of what is packed stands.
func (p *parser) document(ctx context.Context) error {
	seen := false
	for {
		start, err := p.next(ctx)
		switch {
		case errors.Is(err, io.EOF) && seen:
			return nil
		case err != nil && !seen && ctx.Err() == nil && !strayed(err):
			return p.broken(fmt.Errorf("%w: %w", ErrNotChanges, reason(err)))
		case err != nil:
			return p.broken(err)
		case start == nil:
			continue
		case seen || start.Name.Local != "osmChange":
			return p.broken(fmt.Errorf("%w (the element %q stands where osmChange is wanted)", ErrNotChanges, start.Name.Local))
		}
		seen = true
		if err := p.blocks(ctx); err != nil {
			return err
		}
	}
}

// strayed tells an error of reading from one of what was read.
func strayed(err error) bool {
	var syntax *xml.SyntaxError
	return !errors.As(err, &syntax) && !errors.Is(err, io.EOF)
}

// next gives the next start of an element, nil for anything else that may stand between;
// io.EOF at the end of the document, errEnd at the end of the element it stands in.
func (p *parser) next(ctx context.Context) (*xml.StartElement, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p.guard.left = mostElementBytes
	t, err := p.dec.Token()
	if err != nil {
		return nil, err
	}
	switch t := t.(type) {
	case xml.StartElement:
		return &t, nil
	case xml.EndElement:
		return nil, errEnd
	}
	return nil, nil
}

var errEnd = errors.New("end of element")

// blocks reads what stands in osmChange: create, modify and delete in any number and order.
func (p *parser) blocks(ctx context.Context) error {
	for {
		start, err := p.next(ctx)
		switch {
		case errors.Is(err, errEnd):
			return nil
		case err != nil:
			return p.broken(err)
		case start == nil:
			continue
		}
		switch name := start.Name.Local; name {
		case "create", "modify", "delete":
			if err := p.objects(ctx, name == "delete"); err != nil {
				return err
			}
		case "bounds", "bound", "note", "meta":
			if err := p.dec.Skip(); err != nil {
				return p.broken(err)
			}
		default:
			return p.broken(fmt.Errorf("the element %q stands where create, modify or delete is wanted: the file is damaged", name))
		}
	}
}

// objects reads one block.
func (p *parser) objects(ctx context.Context, deleted bool) error {
	for {
		start, err := p.next(ctx)
		switch {
		case errors.Is(err, errEnd):
			return nil
		case err != nil:
			return p.broken(err)
		case start == nil:
			continue
		}
		o, err := p.object(start, deleted)
		if err != nil {
			return p.broken(err)
		}
		if err := p.take(o); err != nil {
			return err
		}
	}
}

func (p *parser) object(start *xml.StartElement, deleted bool) (o osm.Object, err error) {
	has := map[string]string{}
	for _, a := range start.Attr {
		has[a.Name.Local] = a.Value
	}
	if _, ok := has["id"]; !ok {
		return nil, fmt.Errorf("a %s without id: the file is damaged", start.Name.Local)
	}
	visible := !deleted && has["visible"] != "false"
	switch start.Name.Local {
	case "node":
		n := &osm.Node{}
		if err = p.dec.DecodeElement(n, start); err == nil && visible {
			err = placed(n, has)
		}
		n.Visible, o = visible, n
	case "way":
		w := &osm.Way{}
		err = p.dec.DecodeElement(w, start)
		w.Visible, o = visible, w
	case "relation":
		r := &osm.Relation{}
		err = p.dec.DecodeElement(r, start)
		for _, m := range r.Members {
			if err == nil && m.Type != osm.TypeNode && m.Type != osm.TypeWay && m.Type != osm.TypeRelation {
				err = fmt.Errorf("relation %d has a member of the kind %q: the file is damaged", r.ID, m.Type)
			}
		}
		r.Visible, o = visible, r
	default:
		return nil, fmt.Errorf("the element %q stands where a node, way or relation is wanted: the file is damaged", start.Name.Local)
	}
	if err != nil {
		return nil, err
	}
	return o, nil
}

// placed refuses a node that is there and lies nowhere.
func placed(n *osm.Node, has map[string]string) error {
	_, lat := has["lat"]
	_, lon := has["lon"]
	if !lat || !lon || !(n.Lat >= -90 && n.Lat <= 90 && n.Lon >= -180 && n.Lon <= 180) {
		return fmt.Errorf("node %d has no place on earth: the file is damaged", n.ID)
	}
	return nil
}

// broken says where and why a file cannot be read; a cancelled context is its own error.
func (p *parser) broken(err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return &osmdata.FormatError{File: p.name, Offset: p.count.n, Err: reason(err)}
}

// reason says what is wrong with a file in the words that extracts have for it.
func reason(err error) error {
	var syntax *xml.SyntaxError
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return osmdata.ErrTruncated
	case errors.As(err, &syntax) && strings.Contains(syntax.Msg, "unexpected EOF"):
		return fmt.Errorf("%w (line %d)", osmdata.ErrTruncated, syntax.Line)
	case errors.Is(err, gzip.ErrChecksum), errors.Is(err, gzip.ErrHeader):
		return fmt.Errorf("the file is damaged: %w", err)
	}
	return err
}

// counter counts the bytes read of a file.
type counter struct {
	r io.Reader
	n int64
}

func (c *counter) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += int64(n)
	return n, err
}

// guard ends a document in which one element is longer than any can be.
type guard struct {
	r    io.Reader
	left int
}

var errLong = fmt.Errorf("an element of more than %d MB: the file is damaged", mostElementBytes>>20)

func (g *guard) Read(b []byte) (int, error) {
	if g.left <= 0 {
		return 0, errLong
	}
	n, err := g.r.Read(b)
	g.left -= n
	return n, err
}
