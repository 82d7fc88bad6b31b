package osmdata

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
)

// Part is a block of a PBF file. It can be read, or copied as it stands, as often as need
// be, but nothing else of the file meanwhile.
type Part struct {
	e *Elements
	b block
}

// Parts are the blocks of a PBF file in their order, nil of XML.
func (e *Elements) Parts() (out []Part) {
	if e.pbf == nil {
		return nil
	}
	for _, b := range e.pbf.blocks[1:] {
		out = append(out, Part{e, b})
	}
	return out
}

// Element is the kind and id of an element.
type Element struct {
	Kind osm.Type
	ID   int64
}

// Range gives the first and the last element of a part; false unless all ascend by kind,
// nodes before ways before relations, and by ids above zero.
func (p Part) Range() (first, last Element, ok bool) {
	if p.b.holds == 0 || p.b.mixed {
		return first, last, false
	}
	for _, k := range p.kinds() {
		r := p.b.of(k)
		if r.shuffled || r.least <= 0 || r.least > r.most {
			return first, last, false
		}
		if first.Kind == "" {
			first = Element{elementTypes[k], r.least}
		}
		last = Element{elementTypes[k], r.most}
	}
	return first, last, true
}

var elementTypes = map[elements]osm.Type{hasNodes: osm.TypeNode, hasWays: osm.TypeWay, hasRelations: osm.TypeRelation}

// kinds are those that a part holds.
func (p Part) kinds() (out []elements) {
	for _, k := range []elements{hasNodes, hasWays, hasRelations} {
		if p.b.holds&k != 0 {
			out = append(out, k)
		}
	}
	return out
}

// errEnough ends a reading whose reader wants no more.
var errEnough = errors.New("enough")

// Objects gives the elements of the part, kind by kind.
func (p Part) Objects(ctx context.Context) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		ctx, cancel := context.WithCancelCause(ctx)
		defer cancel(nil)
		one := pbfPasses{r: p.e.pbf.r, tr: p.e.tr, blocks: []block{p.e.pbf.blocks[0], p.b}}
		for _, kind := range p.kinds() {
			err := one.pass(ctx, kind, nil, func(*osmpbf.Scanner) {}, func(o osm.Object) {
				if ctx.Err() == nil && !yield(o, nil) {
					cancel(errEnough)
				}
			})
			if errors.Is(context.Cause(ctx), errEnough) {
				return
			}
			if err != nil {
				yield(nil, err)
				return
			}
		}
	}
}

// WriteTo copies the part, frame and all.
func (p Part) WriteTo(w io.Writer) (int64, error) {
	if _, err := p.e.pbf.r.Seek(p.b.offset, io.SeekStart); err != nil {
		return 0, fmt.Errorf("go to a part of the extract: %w", err)
	}
	return io.CopyN(w, p.e.pbf.r, p.b.size)
}
