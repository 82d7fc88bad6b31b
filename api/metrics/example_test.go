package metrics_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"time"

	"wideberth/api/metrics"
)

// A request is counted as it ends, under its operation and status.
func ExampleMetrics_Enter() {
	m := metrics.New("v0")
	leave := m.Enter()
	leave("plan", http.StatusOK, 30*time.Millisecond)

	rec := httptest.NewRecorder()
	m.Handler().ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	for line := range strings.Lines(rec.Body.String()) {
		if strings.HasPrefix(line, "wideberth_request_duration_seconds_bucket") && strings.Contains(line, `le="0.05"`) ||
			strings.HasPrefix(line, "wideberth_requests_in_flight") {
			fmt.Print(line)
		}
	}
	// Output:
	// wideberth_request_duration_seconds_bucket{operation="plan",status="200",le="0.05"} 1
	// wideberth_requests_in_flight 0
}
