package osmdata

import (
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
	"github.com/paulmach/osm/osmxml"
)

// Elements goes through the elements of an extract as the file has them, kind by kind
// and as often as asked, with memory that does not depend on the size of the file. What
// it reads is what Options.Read does. Not for concurrent use.
type Elements struct {
	r   io.ReadSeeker
	tr  *tracker
	pbf *pbfPasses // nil for XML

	// What the file states of itself, known after the first pass over it; bounds are nil
	// and the time is zero where it does not. Nobody has held the bounds against the data.
	Bounds    *osm.Bounds
	Timestamp time.Time
	Sequence  int64 // number of the last file of changes in it, 0 where it does not say
}

// OpenElements finds out what kind of file r is and, of PBF, that it is sound. Errors
// are those of Options.Read. Passes is how often a kind of element will be gone through,
// for telling the truth about progress; progress may be nil.
func OpenElements(ctx context.Context, r io.ReadSeeker, passes int, progress func(Progress)) (*Elements, error) {
	tr, err := newTracker(r, progress)
	if err != nil {
		return nil, err
	}
	head, err := beginning(r, tr)
	if err != nil {
		return nil, err
	}
	e := &Elements{r: r, tr: tr}
	if !looksPBF(head) {
		tr.passes = int64(passes)
		return e, nil
	}
	tr.passes = 2
	tr.stage("checking the file")
	blocks, err := surveyPBF(ctx, r, tr)
	if err != nil {
		return nil, err
	}
	e.pbf = &pbfPasses{r: r, tr: tr, blocks: blocks}
	return e, nil
}

// Nodes hands over the nodes that are wanted, in the order of the file. Want is called by
// several goroutines at once and must be pure; so below.
func (e *Elements) Nodes(ctx context.Context, want func(*osm.Node) bool, take func(*osm.Node) error) error {
	return e.nodes(ctx, nil, want, take)
}

func (e *Elements) nodes(ctx context.Context, ids []int64, want func(*osm.Node) bool, take func(*osm.Node) error) error {
	return e.pass(ctx, "reading nodes", hasNodes, ids, func(s *osmpbf.Scanner) { s.FilterNode = want }, func(o osm.Object) error {
		if n, is := o.(*osm.Node); is && (e.pbf != nil || want(n)) {
			return take(n)
		}
		return nil
	})
}

// Ways hands over the ways that are wanted, in the order of the file.
func (e *Elements) Ways(ctx context.Context, want func(*osm.Way) bool, take func(*osm.Way) error) error {
	return e.ways(ctx, nil, want, take)
}

func (e *Elements) ways(ctx context.Context, ids []int64, want func(*osm.Way) bool, take func(*osm.Way) error) error {
	return e.pass(ctx, "reading ways", hasWays, ids, func(s *osmpbf.Scanner) { s.FilterWay = want }, func(o osm.Object) error {
		if w, is := o.(*osm.Way); is && (e.pbf != nil || want(w)) {
			return take(w)
		}
		return nil
	})
}

// Relations hands over the relations that are wanted, in the order of the file.
func (e *Elements) Relations(ctx context.Context, want func(*osm.Relation) bool, take func(*osm.Relation) error) error {
	return e.pass(ctx, "reading relations", hasRelations, nil, func(s *osmpbf.Scanner) { s.FilterRelation = want }, func(o osm.Object) error {
		if r, is := o.(*osm.Relation); is && (e.pbf != nil || want(r)) {
			return take(r)
		}
		return nil
	})
}

// NodesOf hands over the nodes with given ids, which are sorted. Of PBF only those blocks
// are unpacked that can hold one.
func (e *Elements) NodesOf(ctx context.Context, ids []int64, take func(*osm.Node) error) error {
	return e.nodes(ctx, ids, func(n *osm.Node) bool { return among(ids, int64(n.ID)) }, take)
}

// WaysOf hands over the ways with given ids, as NodesOf does nodes.
func (e *Elements) WaysOf(ctx context.Context, ids []int64, take func(*osm.Way) error) error {
	return e.ways(ctx, ids, func(w *osm.Way) bool { return among(ids, int64(w.ID)) }, take)
}

func among(ids []int64, id int64) bool {
	_, found := slices.BinarySearch(ids, id)
	return found
}

// pass goes through the elements of a kind, of PBF those in blocks that may hold one of
// the ids, nil for all; of XML through all of them, as any may stand anywhere.
func (e *Elements) pass(ctx context.Context, stage string, kind elements, ids []int64, filter func(*osmpbf.Scanner), take func(osm.Object) error) error {
	e.tr.stage(stage)
	if e.pbf == nil {
		return e.passXML(ctx, take)
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var failed error
	err := e.pbf.pass(ctx, kind, ids, filter, func(o osm.Object) {
		if failed == nil {
			if failed = take(o); failed != nil {
				cancel()
			}
		}
	})
	if failed != nil {
		return failed
	}
	if h := e.pbf.header; h != nil {
		e.Bounds, e.Timestamp, e.Sequence = h.Bounds, h.ReplicationTimestamp, int64(h.ReplicationSeqNum)
	}
	return err
}

// passXML goes through all elements of an XML document.
func (e *Elements) passXML(ctx context.Context, take func(osm.Object) error) error {
	if _, err := e.r.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("go to the start of the extract: %w", err)
	}
	head, err := beginning(e.r, e.tr)
	if err != nil {
		return err
	}
	plain, err := unpacked(e.r, head, e.tr)
	if err != nil {
		return err
	}
	root := &rootCheck{r: plain}
	s := osmxml.New(ctx, root)
	defer s.Close()
	for s.Scan() {
		o := s.Object()
		if b, is := o.(*osm.Bounds); is {
			e.Bounds = b
		}
		if err := take(o); err != nil {
			return err
		}
	}
	e.Timestamp = root.time
	return xmlEnd(ctx, s, root, e.tr)
}
