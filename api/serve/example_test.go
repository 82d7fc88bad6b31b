package serve_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"

	"wideberth/api/serve"
)

// A request that is under way when the end is asked for is answered before it ends.
func ExampleUntil() {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx, end := context.WithCancel(context.Background())
	left := make(chan struct{})
	h := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		end()
		<-left // only now it is about to go
		_, _ = io.WriteString(w, "answered")
	})
	ended := make(chan error, 1)
	go func() {
		ended <- serve.Until(ctx, l, serve.Options{Handler: h, Log: slog.New(slog.DiscardHandler), Leaving: func() { close(left) }})
	}()
	res, err := http.Get("http://" + l.Addr().String())
	if err != nil {
		fmt.Println(err)
		return
	}
	text, err := io.ReadAll(res.Body)
	_ = res.Body.Close()
	fmt.Println(string(text), err)
	fmt.Println(<-ended)
	// Output:
	// answered <nil>
	// <nil>
}
