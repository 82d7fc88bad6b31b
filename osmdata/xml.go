package osmdata

import (
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"time"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmxml"
)

// collectXML reads OpenStreetMap XML in one pass, because going through bzip2
// twice costs more than keeping all coordinates.
func collectXML(ctx context.Context, r io.Reader, tr *tracker, h *harvest) error {
	root := &rootCheck{r: r}
	s := osmxml.New(ctx, root)
	defer s.Close()
	for s.Scan() {
		switch v := s.Object().(type) {
		case *osm.Bounds:
			h.addBounds(v)
		case *osm.Node:
			h.addNode(v)
		case *osm.Way:
			h.addWay(v)
		case *osm.Relation:
			h.addRelation(v)
		}
	}
	if err := xmlEnd(ctx, s, root, tr); err != nil {
		return err
	}
	h.timestamp = root.time
	h.finishRelations()
	h.keepMembers()
	h.finishNodes()
	return nil
}

// xmlEnd says why a scan of a document ended, nil where the document did.
func xmlEnd(ctx context.Context, s *osmxml.Scanner, root *rootCheck, tr *tracker) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if errors.Is(root.err, ErrNotOSM) {
		return tr.broken(0, root.err)
	}
	if err := s.Err(); err != nil {
		return tr.broken(tr.done, xmlReason(err))
	}
	return nil
}

func xmlReason(err error) error {
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) && strings.Contains(syntax.Msg, "unexpected EOF") {
		return fmt.Errorf("%w (line %d)", ErrTruncated, syntax.Line)
	}
	return reason(err)
}

// rootCheck lets an XML document pass only if its first element is osm: the scanner
// itself is content with any document.
type rootCheck struct {
	r    io.Reader
	seen []byte
	ok   bool
	time time.Time // of the extract, if the first element says
	err  error
}

func (c *rootCheck) Read(p []byte) (int, error) {
	if c.err != nil {
		return 0, c.err
	}
	n, err := c.r.Read(p)
	if c.ok {
		return n, err
	}
	const longestPrologue = 1 << 16
	c.seen = append(c.seen, p[:n]...)
	switch root, attributes := rootElement(c.seen); {
	case root == "osm":
		c.ok, c.seen, c.time = true, nil, timestamp(attributes)
	case root != "":
		c.err = fmt.Errorf("%w (the file's first element is %q)", ErrNotOSM, root)
	case len(c.seen) > longestPrologue, err != nil, n > 0 && !xmlish(c.seen):
		c.err = ErrNotOSM
		if err != nil && !errors.Is(err, io.EOF) {
			c.err = err
		}
	}
	if c.err != nil {
		return 0, c.err
	}
	return n, err
}

// xmlish tells whether the first character that is no space or byte order mark
// opens a tag.
func xmlish(b []byte) bool {
	s := strings.TrimLeft(string(b), "\ufeff \t\r\n")
	return s == "" || s[0] == '<'
}

// rootElement gives the name of a document's first element and the text of its
// attributes, "" and "" if its start tag is not complete yet.
func rootElement(b []byte) (name, attributes string) {
	s := string(b)
	for {
		i := strings.IndexByte(s, '<')
		if i < 0 || i+1 == len(s) {
			return "", ""
		}
		s = s[i+1:]
		end := ">"
		if strings.HasPrefix(s, "!--") {
			end = "-->"
		}
		j := strings.Index(s, end)
		if j < 0 {
			return "", ""
		}
		if s[0] != '?' && s[0] != '!' {
			name, attributes, _ = strings.Cut(strings.TrimSuffix(s[:j], "/"), " ")
			return strings.TrimSpace(name), attributes
		}
		s = s[j+len(end):]
	}
}

var timestampAttribute = regexp.MustCompile(`\btimestamp=["']([^"']*)["']`)

// timestamp reads the extract's time from the attributes of the first element.
func timestamp(attributes string) time.Time {
	m := timestampAttribute.FindStringSubmatch(attributes)
	if m == nil {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, m[1])
	if err != nil {
		return time.Time{}
	}
	return t.UTC()
}
