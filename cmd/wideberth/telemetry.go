package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp"
	"go.opentelemetry.io/otel/sdk/resource"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/trace"

	"wideberth/api/metrics"
)

const (
	scrapeTimeout = 10 * time.Second // of one answer with figures
	flushTimeout  = 2 * time.Second  // of what is left of traces at the end
)

// measured answers with figures, and reads the maps anew, at an address of their own, until the function that
// it gives is called. Nothing is measured where no address is given.
func measured(ctx context.Context, w *world, addr string, reload reloading) (*metrics.Metrics, func() error, error) {
	if addr == "" {
		return nil, func() error { return nil }, nil
	}
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", addr)
	if err != nil {
		return nil, nil, wrong("metrics", addr, err.Error()+": give an address and a free port, like 127.0.0.1:9090")
	}
	m := metrics.New(version)
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", m.Handler())
	mux.Handle("POST /reload", reload.handler())
	srv := &http.Server{Handler: mux, ReadHeaderTimeout: scrapeTimeout, ReadTimeout: scrapeTimeout, WriteTimeout: scrapeTimeout}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	fmt.Fprintf(w.out, "figures at http://%s/metrics\n", l.Addr())
	return m, func() error {
		err := srv.Close()
		if e := <-ended; !errors.Is(e, http.ErrServerClosed) {
			err = errors.Join(err, e)
		}
		return err
	}, nil
}

// traced sends traces to where OpenTelemetry's standard variables say, and nowhere if
// they say nothing. The function that it gives sends what is left.
func traced(ctx context.Context) (trace.TracerProvider, func(), error) {
	if !tracesWanted(os.Getenv) {
		return nil, func() {}, nil
	}
	for _, name := range []string{"OTEL_EXPORTER_OTLP_TRACES_PROTOCOL", "OTEL_EXPORTER_OTLP_PROTOCOL"} {
		if p := os.Getenv(name); p != "" && p != "http/protobuf" {
			return nil, nil, wrong(name, p, "only http/protobuf is spoken")
		}
	}
	out, err := otlptracehttp.New(ctx)
	if err != nil {
		return nil, nil, fmt.Errorf("traces: %w", err)
	}
	r, err := resource.New(ctx, resource.WithAttributes(attribute.String("service.name", "wideberth"), attribute.String("service.version", version)),
		resource.WithFromEnv()) // later ones win: the environment may name it otherwise
	if err != nil {
		return nil, nil, fmt.Errorf("traces: OTEL_RESOURCE_ATTRIBUTES: %w", err)
	}
	p := sdktrace.NewTracerProvider(sdktrace.WithBatcher(out), sdktrace.WithResource(r))
	return p, func() {
		soon, cancel := context.WithTimeout(context.WithoutCancel(ctx), flushTimeout)
		defer cancel()
		_ = p.Shutdown(soon) // a collector that is away is no fault of the server's
	}, nil
}

// tracesWanted says that the environment names a collector of traces and does not
// switch them off.
func tracesWanted(getenv func(string) string) bool {
	if strings.EqualFold(getenv("OTEL_SDK_DISABLED"), "true") || getenv("OTEL_TRACES_EXPORTER") == "none" {
		return false
	}
	return getenv("OTEL_EXPORTER_OTLP_ENDPOINT") != "" || getenv("OTEL_EXPORTER_OTLP_TRACES_ENDPOINT") != "" || getenv("OTEL_TRACES_EXPORTER") == "otlp"
}
