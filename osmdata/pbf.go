package osmdata

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"runtime"

	"wideberth/osmdata/parallel"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
	"google.golang.org/protobuf/encoding/protowire"
)

// Limits of the PBF format (OpenStreetMap wiki, "PBF Format").
const (
	maxBlobHeader = 64 << 10
	maxBlob       = 32 << 20
)

// maxDecoders bounds the decoders of a pass: each holds decoded blocks in memory.
const maxDecoders = 4

// elements tells which kinds of element a block holds.
type elements uint8

const (
	hasNodes elements = 1 << iota
	hasWays
	hasRelations
)

// block is one blob of a PBF file with its framing.
type block struct {
	offset, size int64
	holding
}

// looksPBF tells a PBF file by its first block, which is named OSMHeader.
func looksPBF(head []byte) bool {
	return len(head) > 16 && head[0] == 0 && bytes.Contains(head[:min(len(head), 64)], []byte("OSMHeader"))
}

// collectPBF reads a PBF file: once to see that it is sound and which block holds
// what, then relations, ways and nodes in turn, each from the blocks that have
// some. So every block is decoded about twice, ways know which relations want
// them, and only nodes that ways need are kept.
func collectPBF(ctx context.Context, r io.ReadSeeker, tr *tracker, h *harvest) error {
	tr.passes = 2
	tr.stage("checking the file")
	blocks, err := surveyPBF(ctx, r, tr)
	if err != nil {
		return err
	}
	p := pbfPasses{r: r, tr: tr, blocks: blocks}
	tr.stage("reading relations")
	err = p.pass(ctx, hasRelations, nil, func(s *osmpbf.Scanner) {
		s.FilterRelation = h.wantRelation
	}, func(o osm.Object) { h.addRelation(o.(*osm.Relation)) })
	if err != nil {
		return err
	}
	h.finishRelations()
	tr.stage("reading ways")
	err = p.pass(ctx, hasWays, nil, func(s *osmpbf.Scanner) {
		s.FilterWay = h.wantWay
	}, func(o osm.Object) { h.addWay(o.(*osm.Way)) })
	if err != nil {
		return err
	}
	h.keepMembers()
	tr.stage("reading nodes")
	err = p.pass(ctx, hasNodes, nil, func(s *osmpbf.Scanner) {
		s.FilterNode = h.wantNode
	}, func(o osm.Object) { h.addNode(o.(*osm.Node)) })
	if err != nil {
		return err
	}
	if p.header != nil {
		h.timestamp = p.header.ReplicationTimestamp
		if p.header.Bounds != nil {
			h.addBounds(p.header.Bounds)
		}
	}
	h.finishNodes()
	return nil
}

// pbfPasses goes through chosen blocks of a file again and again.
type pbfPasses struct {
	r      io.ReadSeeker
	tr     *tracker
	blocks []block // the header first
	header *osmpbf.Header
}

// pass hands every element of one kind that the filter lets through to take. Of sorted ids
// those blocks count that may hold one, nil is for all.
func (p *pbfPasses) pass(ctx context.Context, kind elements, ids []int64, filter func(*osmpbf.Scanner), take func(osm.Object)) error {
	chosen := []block{p.blocks[0]}
	for _, b := range p.blocks[1:] {
		if b.holds&kind != 0 && (ids == nil || b.mayHold(kind, ids)) {
			chosen = append(chosen, b)
		}
	}
	s := osmpbf.New(ctx, &blockReader{r: p.r, blocks: chosen, tr: p.tr}, min(maxDecoders, runtime.GOMAXPROCS(0)))
	defer s.Close()
	s.SkipNodes, s.SkipWays, s.SkipRelations = kind != hasNodes, kind != hasWays, kind != hasRelations
	filter(s)
	for s.Scan() {
		take(s.Object())
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := s.Err(); err != nil {
		return p.tr.broken(originalOffset(chosen, s.FullyScannedBytes()), reason(err))
	}
	p.header, _ = s.Header()
	return nil
}

// originalOffset finds the block that lies at an offset of the chosen blocks' stream.
func originalOffset(chosen []block, at int64) int64 {
	for _, b := range chosen {
		if at < b.size {
			return b.offset
		}
		at -= b.size
	}
	return 0
}

// blockReader reads the chosen blocks of a file as if they stood one after another.
type blockReader struct {
	r      io.ReadSeeker
	blocks []block // still to read
	left   int64   // bytes of the block that is being read
	at     int64   // where r stands, if set
	set    bool
	tr     *tracker
}

// Read fills p from the block that is due.
func (br *blockReader) Read(p []byte) (int, error) {
	if br.left == 0 {
		if len(br.blocks) == 0 {
			return 0, io.EOF
		}
		b := br.blocks[0]
		br.blocks = br.blocks[1:]
		if !br.set || br.at != b.offset {
			if _, err := br.r.Seek(b.offset, io.SeekStart); err != nil {
				return 0, err
			}
		}
		br.set, br.at, br.left = true, b.offset, b.size
	}
	n, err := br.r.Read(p[:min(int64(len(p)), br.left)])
	br.at += int64(n)
	br.left -= int64(n)
	br.tr.advance(int64(n))
	if errors.Is(err, io.EOF) && br.left > 0 {
		err = io.ErrUnexpectedEOF
	}
	return n, err
}

// surveyPBF walks the framing of all blocks and looks into each: what is cut,
// damaged or unknown is found here, with its place. The library's own decoder would
// take some cuts for the end of the file, and what inspect refuses would make it
// panic in a goroutine of its own, where nobody can catch it.
func surveyPBF(ctx context.Context, r io.ReadSeeker, tr *tracker) ([]block, error) {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("go to the start of the extract: %w", err)
	}
	sv := &survey{}
	var frameErr error
	err := parallel.Each(ctx, func(yield func(surveyJob) bool) {
		frameErr = sv.walk(bufio.NewReaderSize(r, 1<<16), tr, yield)
	}, look)
	if err != nil {
		return nil, err
	}
	blocks := make([]block, len(sv.found))
	for i, f := range sv.found {
		if f.err != nil {
			return nil, tr.broken(f.block.offset, reason(f.err))
		}
		blocks[i] = f.block
	}
	if frameErr != nil {
		return nil, frameErr
	}
	return blocks, nil
}

// survey hands blobs to several lookers, each of which writes only to its own find.
type survey struct{ found []*find }

type surveyJob struct {
	blob   []byte
	header bool
	to     *find
}

type find struct {
	block block
	err   error
}

// walk goes along the blocks until the file ends or nobody looks any more.
func (sv *survey) walk(r *bufio.Reader, tr *tracker, look func(surveyJob) bool) error {
	for offset := int64(0); ; {
		var size [4]byte
		if _, err := io.ReadFull(r, size[:]); err == io.EOF {
			return nil
		} else if err != nil {
			return tr.broken(offset, reason(err))
		}
		kind, blob, length, err := readBlock(r, size)
		if err == nil && (kind == "OSMHeader") != (offset == 0) {
			err = fmt.Errorf("%w (block %q out of place)", ErrNotOSM, kind)
		}
		if err != nil {
			return tr.broken(offset, reason(err))
		}
		f := &find{block: block{offset: offset, size: length}}
		sv.found = append(sv.found, f)
		if !look(surveyJob{blob, offset == 0, f}) {
			return nil
		}
		offset += length
		tr.advance(length)
	}
}

// readBlock reads one block after its size field.
func readBlock(r io.Reader, size [4]byte) (kind string, blob []byte, length int64, err error) {
	n := binary.BigEndian.Uint32(size[:])
	if n == 0 || n >= maxBlobHeader {
		return "", nil, 0, fmt.Errorf("block header of %d bytes: the file is damaged", n)
	}
	header := make([]byte, n)
	if _, err = io.ReadFull(r, header); err != nil {
		return "", nil, 0, err
	}
	dataSize := int64(-1)
	err = fields(header, func(num protowire.Number, _ protowire.Type, v uint64, data []byte) error {
		switch num {
		case 1:
			kind = string(data)
		case 3:
			dataSize = int64(int32(v))
		}
		return nil
	})
	switch {
	case err != nil:
		return "", nil, 0, err
	case kind != "OSMHeader" && kind != "OSMData":
		return "", nil, 0, fmt.Errorf("block of unknown kind %q: the file is damaged", kind)
	case dataSize < 0 || dataSize >= maxBlob:
		return "", nil, 0, fmt.Errorf("block of %d bytes, want less than %d: the file is damaged", dataSize, maxBlob)
	}
	// Grown as it comes, so that a lie about the size costs no memory.
	var buf bytes.Buffer
	if _, err = io.CopyN(&buf, r, dataSize); err != nil {
		return "", nil, 0, err
	}
	return kind, buf.Bytes(), 4 + int64(n) + dataSize, nil
}

// look makes a looker, which unpacks blobs and sees what is in them.
func look() func(surveyJob) error {
	var z unpacker
	return func(j surveyJob) error {
		data, err := z.unpack(j.blob)
		if err == nil && !j.header {
			j.to.block.holding, err = inspect(data)
		}
		j.to.err = err
		return nil
	}
}

// unpacker inflates blobs with a reader and a buffer that it uses again.
type unpacker struct {
	z   io.ReadCloser
	buf []byte
}

// unpack gives the content of a blob, valid until the next call.
func (u *unpacker) unpack(blob []byte) ([]byte, error) {
	var raw, packed []byte
	rawSize := int64(0)
	var other protowire.Number
	err := fields(blob, func(num protowire.Number, _ protowire.Type, v uint64, data []byte) error {
		switch num {
		case 1:
			raw = data
		case 2:
			rawSize = int64(int32(v))
		case 3:
			packed = data
		default:
			other = num
		}
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case raw != nil:
		return raw, nil
	case packed == nil:
		return nil, fmt.Errorf("block compressed by method %d is not supported: rewrite the file with zlib", other)
	case rawSize < 0 || rawSize > maxBlob:
		return nil, fmt.Errorf("block of %d bytes unpacked, want at most %d: the file is damaged", rawSize, maxBlob)
	}
	return u.inflate(packed, int(rawSize))
}

func (u *unpacker) inflate(packed []byte, size int) (_ []byte, err error) {
	src := bytes.NewReader(packed)
	if u.z == nil {
		u.z, err = zlib.NewReader(src)
	} else {
		err = u.z.(zlib.Resetter).Reset(src, nil)
	}
	if err != nil {
		u.z = nil
		return nil, fmt.Errorf("block does not unpack: %w", damage(err))
	}
	if cap(u.buf) < size {
		u.buf = make([]byte, size)
	}
	if _, err = io.ReadFull(u.z, u.buf[:size]); err != nil {
		return nil, fmt.Errorf("block does not unpack: %w", damage(err))
	}
	// The checksum comes with the end, and nothing after it: the library's zlib
	// reader never returns from a block with something behind its end.
	if _, err = io.ReadFull(u.z, make([]byte, 1)); !errors.Is(err, io.EOF) || src.Len() > 0 {
		return nil, fmt.Errorf("block does not unpack to %d bytes and an end: %w", size, damage(err))
	}
	return u.buf[:size], nil
}

// damage says that a block is bad inside: not that the file ends there.
func damage(err error) error {
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("the file is damaged")
	}
	return fmt.Errorf("the file is damaged: %w", err)
}
