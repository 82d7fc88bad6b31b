package page_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"

	"github.com/labstack/echo/v4"

	"wideberth/api/page"
	"wideberth/api/wire/tile"
	"wideberth/routing/snapshot/maptest"
)

// A tile that cannot be is not found; one far from the map is there and empty.
func ExampleRoutes() {
	e := echo.New()
	layers := tile.NewLayers(maptest.Invented(), nil)
	page.Routes(e, func(_ context.Context, z, x, y uint64) ([]byte, error) { return layers.Tile(z, x, y) })
	for _, path := range []string{"/tiles/15/1/1.mvt", "/tiles/15/40000/1.mvt", "/tiles/15/1/1.png"} {
		rec := httptest.NewRecorder()
		e.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, path, http.NoBody))
		fmt.Println(path, rec.Code)
	}
	// Output:
	// /tiles/15/1/1.mvt 204
	// /tiles/15/40000/1.mvt 404
	// /tiles/15/1/1.png 404
}
