package api_test

import (
	"bytes"
	"crypto/rand"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"wideberth/api"
	"wideberth/api/store"
	"wideberth/api/store/pgtest"
	"wideberth/api/wire/kept"
)

// TestDoorStaysShut: once a key was made nobody is let in without one, whatever
// becomes of the key.
func TestDoorStaysShut(t *testing.T) {
	for name, undo := range map[string]func(t *testing.T, m *store.Store, keeper store.Who, key string){
		"revoked": func(t *testing.T, m *store.Store, keeper store.Who, key string) {
			account, err := m.People(t.Context(), keeper)
			if err == nil {
				err = m.RevokeToken(t.Context(), keeper, account[0].Keys[0].ID)
			}
			if err != nil {
				t.Fatal(err)
			}
		},
		"its account deletes itself": func(t *testing.T, m *store.Store, keeper store.Who, key string) {
			if err := m.DeleteAccount(t.Context(), keeper, "Shelter"); err != nil {
				t.Fatal(err)
			}
		},
		"its holder is removed": func(t *testing.T, m *store.Store, keeper store.Who, key string) {
			second, err := m.AddPerson(t.Context(), keeper, "Robin", kept.Keeper, nil)
			if err == nil {
				err = m.RemovePerson(t.Context(), store.Who{Account: keeper.Account, Person: second, Role: kept.Keeper}, keeper.Person)
			}
			if err != nil {
				t.Fatal(err)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			m, h := memory(t, true)
			send(t, h, "GET", "/v1/dogs", "", "", 200, nil)
			keeper, err := m.CreateAccount(t.Context(), "Shelter", "Kit")
			if err != nil {
				t.Fatal(err)
			}
			key, _, err := m.NewToken(t.Context(), keeper, keeper.Person, "", 1)
			if err != nil {
				t.Fatal(err)
			}
			send(t, h, "GET", "/v1/dogs", "", "", 401, nil)
			undo(t, m, keeper, key)
			send(t, h, "GET", "/v1/dogs", "", "", 401, nil)
			send(t, h, "GET", "/v1/dogs", key, "", 401, nil)
			again := server(t, api.Options{Store: m, Local: keeper}).Handler() // started anew
			send(t, again, "GET", "/v1/dogs", "", "", 401, nil)
			local, err := m.Local(t.Context()) // what wideberth token does
			if err != nil {
				t.Fatal(err)
			}
			back, _, err := m.NewToken(t.Context(), local, local.Person, "", 1)
			if err != nil {
				t.Fatal(err)
			}
			send(t, h, "GET", "/v1/dogs", back, "", 200, nil)
		})
	}
}

// everyPath is one path of each sort that a server answers.
func everyPath() []string {
	return []string{"/", "/healthz", "/readyz", "/openapi.json", "/handout.css", "/tiles/15/15747/11459.mvt", "/v1/map", "/v1/dogs", "/v1/nothing", "/nothing"}
}

// TestNoProxyWithoutKeys: a proxy on this machine that names the host 127.0.0.1 would
// open a server without keys to the world.
func TestNoProxyWithoutKeys(t *testing.T) {
	_, h := memory(t, true)
	for _, header := range []string{"X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "Forwarded", "X-Real-IP", "Via"} {
		for _, path := range everyPath() {
			send(t, h, "GET", path, "", "", 403, nil, header, "")
			send(t, h, "GET", path, "", "", 403, nil, header, "192.0.2.7")
		}
	}
	for name, value := range map[string]string{"Host": "walks.example", "Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"} {
		for _, path := range everyPath() {
			req := httptest.NewRequest(http.MethodGet, "http://localhost:8080"+path, nil)
			req.Header.Set(name, value)
			if name == "Host" {
				req.Host = value
			}
			rec := httptest.NewRecorder()
			h.ServeHTTP(rec, req)
			if rec.Code != 403 {
				t.Errorf("%s with %s %s: status %d", path, name, value, rec.Code)
			}
		}
	}
	send(t, h, "GET", "/healthz", "", "", 200, nil)
}

// TestProxyWithKeys: with keys a proxy is as good as anybody.
func TestProxyWithKeys(t *testing.T) {
	m, h := memory(t, true)
	keeper, err := m.CreateAccount(t.Context(), "Shelter", "Kit")
	if err != nil {
		t.Fatal(err)
	}
	key, _, err := m.NewToken(t.Context(), keeper, keeper.Person, "", 1)
	if err != nil {
		t.Fatal(err)
	}
	send(t, h, "GET", "/healthz", "", "", 200, nil, "X-Forwarded-For", "192.0.2.7")
	send(t, h, "GET", "/v1/dogs", key, "", 200, nil, "X-Forwarded-For", "192.0.2.7")
	send(t, h, "GET", "/v1/dogs", "", "", 401, nil, "X-Forwarded-For", "192.0.2.7")
}

// TestAnswersStayHome: what /v1 answers is kept in no cache, and nothing that is
// answered is shown as something else or runs anything.
func TestAnswersStayHome(t *testing.T) {
	_, h := memory(t, true)
	check := func(name string, head http.Header, ours bool) {
		t.Helper()
		if head.Get("X-Content-Type-Options") != "nosniff" || !strings.HasPrefix(head.Get("Content-Security-Policy"), "default-src 'none'") || head.Get("Referrer-Policy") == "" {
			t.Errorf("%s: %v", name, head)
		}
		if ours && head.Get("Cache-Control") != "no-store" {
			t.Errorf("%s may be kept: %q", name, head.Get("Cache-Control"))
		}
	}
	for _, path := range everyPath() {
		res, _ := do(t, h, "GET", path, "", "")
		check(path, res.Header, strings.HasPrefix(path, "/v1/"))
	}
	for _, op := range taking(t, h) {
		res, _ := do(t, h, op.method, op.path, "", op.example)
		check(op.path, res.Header, true)
		res, _ = do(t, h, op.method, op.path, "", "{")
		check(op.path+", refused", res.Header, true)
	}
}

// TestRequestIDs: the id that a request brings is taken if it is short and plain.
func TestRequestIDs(t *testing.T) {
	var log bytes.Buffer
	h := server(t, api.Options{Log: slog.New(slog.NewTextHandler(&log, nil))}).Handler()
	for id, taken := range map[string]bool{"abc-1.2:3_Z": true, strings.Repeat("a", 64): true, strings.Repeat("a", 65): false, "": false, "two words": false, "x\u202ey": false, `a"b`: false, "a=b": false} {
		req := httptest.NewRequest(http.MethodGet, "http://localhost:8080/healthz", nil)
		req.Header["X-Request-Id"] = []string{id}
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, req)
		got := rec.Header().Get("X-Request-Id")
		if (got == id) != taken || got == "" || len(got) > 64 {
			t.Errorf("%q became %q", id, got)
		}
		if !strings.Contains(log.String(), "id="+got) {
			t.Errorf("%q is not in the log", got)
		}
	}
}

// TestLostStore: without its database a server says so: soon, to be tried again, and
// with nothing promised; health stays, readiness goes.
func TestLostStore(t *testing.T) {
	pg, err := pgtest.Start(false)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	defer pg.Stop()
	m, err := store.Open(t.Context(), pg.URL, store.Options{Now: noon, Rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	local, err := m.Local(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	h := server(t, api.Options{Store: m, Local: local, Log: slog.New(slog.NewTextHandler(&log, nil))}).Handler()
	send(t, h, "GET", "/readyz", "", "", 200, nil)
	if err := pg.Down("immediate"); err != nil {
		t.Fatal(err)
	}
	send(t, h, "GET", "/healthz", "", "", 200, nil)
	send(t, h, "GET", "/readyz", "", "", 503, nil)
	req := httptest.NewRequest(http.MethodGet, "http://localhost:8080/v1/dogs", nil)
	req.Header.Set("X-Request-Id", "lost-1")
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, req)
	text := rec.Body.String()
	if rec.Code != 503 || rec.Header().Get("Retry-After") == "" || strings.Contains(text, "nothing was changed") || !strings.Contains(text, "under a key") {
		t.Errorf("status %d, retry after %q: %s", rec.Code, rec.Header().Get("Retry-After"), text)
	}
	if !strings.Contains(log.String(), `level=ERROR msg=store`) || !strings.Contains(log.String(), "id=lost-1") {
		t.Errorf("the log does not name the request:\n%s", log.String())
	}
	send(t, h, "POST", "/v1/places", "", `{"text":"Kiln"}`, 503, nil)
	send(t, h, "GET", "/tiles/15/15747/11459.mvt", "", "", 204, nil)
	if err := pg.Up(); err != nil {
		t.Fatal(err)
	}
	send(t, h, "GET", "/v1/dogs", "", "", 200, nil)
	send(t, h, "GET", "/readyz", "", "", 200, nil)
}
