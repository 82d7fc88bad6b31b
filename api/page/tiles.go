package page

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"hash/fnv"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"github.com/labstack/echo/v4"

	"wideberth/api/wire/tile"
)

// tileLife is how long a browser may use a tile without asking; maps change rarely.
const tileLife = "private, max-age=3600"

var gzipWriters = sync.Pool{New: func() any {
	w, err := gzip.NewWriterLevel(nil, gzip.BestSpeed) // saves all but 3 to 6 % of what more work would
	if err != nil {
		panic(err) // the level is a constant that exists
	}
	return w
}}

// Draw gives the vector tile of an address that exists, nil where it is empty.
type Draw func(ctx context.Context, z, x, y uint64) ([]byte, error)

// sendTile answers /tiles/z/x/y.mvt.
func sendTile(c echo.Context, draw Draw) error {
	z, x, y, ok := tileAddress(c.Param("z"), c.Param("x"), c.Param("y"))
	if !ok || !tile.Exists(z, x, y) {
		return echo.NewHTTPError(http.StatusNotFound)
	}
	data, err := draw(c.Request().Context(), z, x, y)
	if err != nil {
		return fmt.Errorf("tile: %w", err)
	}
	h := c.Response().Header()
	h.Set(echo.HeaderCacheControl, tileLife)
	if len(data) == 0 {
		return c.NoContent(http.StatusNoContent)
	}
	sum := fnv.New64a()
	_, _ = sum.Write(data) // a hash never fails to write
	tag := fmt.Sprintf(`"%016x"`, sum.Sum64())
	h.Set("ETag", tag)
	h.Add(echo.HeaderVary, echo.HeaderAcceptEncoding)
	if has(c.Request(), tag) {
		return c.NoContent(http.StatusNotModified)
	}
	if takesGzip(c.Request()) {
		h.Set(echo.HeaderContentEncoding, "gzip")
		data = squeezed(data)
	}
	return c.Blob(http.StatusOK, "application/vnd.mapbox-vector-tile", data)
}

func squeezed(data []byte) []byte {
	w := gzipWriters.Get().(*gzip.Writer)
	defer gzipWriters.Put(w)
	var out bytes.Buffer
	w.Reset(&out)
	_, _ = w.Write(data) // a buffer never fails to take bytes
	_ = w.Close()
	return out.Bytes()
}

// tileAddress reads the three numbers of a tile.
func tileAddress(z, x, y string) (zoom, col, row uint64, ok bool) {
	y, ok = strings.CutSuffix(y, ".mvt")
	zoom, err1 := strconv.ParseUint(z, 10, 8)
	col, err2 := strconv.ParseUint(x, 10, 32)
	row, err3 := strconv.ParseUint(y, 10, 32)
	return zoom, col, row, ok && err1 == nil && err2 == nil && err3 == nil
}
