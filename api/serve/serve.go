// Package serve answers on a listener until it is told to end, and ends so that nobody's
// request is lost: it says so first, drains, lets finish, and gives up what hangs.
package serve

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"time"
)

// Options of a service.
type Options struct {
	Handler http.Handler
	Log     *slog.Logger
	Drain   time.Duration             // how long it answers on after its end was asked for
	Leaving func()                    // called when it begins to drain; may be nil
	Daily   func(ctx context.Context) // called once a day; may be nil
}

const (
	readHeaderTimeout = 5 * time.Second
	readTimeout       = 30 * time.Second
	writeTimeout      = 60 * time.Second
	idleTimeout       = 2 * time.Minute
	finishTimeout     = 10 * time.Second
)

// Until answers on l until ctx ends. Then it says that it leaves, and answers on for as
// long as it was told to drain; then it takes no more and lets what runs finish for up to
// ten seconds, and what runs still is given up.
func Until(ctx context.Context, l net.Listener, o Options) error {
	life, end := context.WithCancel(context.WithoutCancel(ctx))
	defer end()
	srv := &http.Server{
		Handler: o.Handler, ReadHeaderTimeout: readHeaderTimeout, ReadTimeout: readTimeout,
		WriteTimeout: writeTimeout, IdleTimeout: idleTimeout, ErrorLog: slog.NewLogLogger(o.Log.Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return life },
	}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	if err, over := o.until(ctx, ended); over {
		return err
	}
	if err, over := o.drain(ended); over {
		return err
	}
	soon, cancel := context.WithTimeout(life, finishTimeout)
	defer cancel()
	err := srv.Shutdown(soon)
	if errors.Is(err, context.DeadlineExceeded) {
		end() // what still searches stops with its context
		o.Log.Warn("requests that had not ended were given up")
		err = srv.Close()
	}
	if e := <-ended; !errors.Is(e, http.ErrServerClosed) {
		err = errors.Join(err, e)
	}
	return err
}

// drain answers on while whoever sends requests here learns that it goes. The second
// result says that the service ended by itself meanwhile.
func (o *Options) drain(ended <-chan error) (error, bool) {
	if o.Leaving != nil {
		o.Leaving()
	}
	if o.Drain == 0 {
		return nil, false
	}
	o.Log.Info("draining", "for", o.Drain.String())
	timer := time.NewTimer(o.Drain)
	defer timer.Stop()
	select {
	case err := <-ended:
		return err, true
	case <-timer.C:
		return nil, false
	}
}

// dayLong is how often Daily is called.
const dayLong = 24 * time.Hour

// until waits for the end of the service or of ctx, and does what is due daily
// meanwhile. The second result says that the service ended by itself.
func (o *Options) until(ctx context.Context, ended <-chan error) (error, bool) {
	daily := time.NewTicker(dayLong)
	defer daily.Stop()
	for {
		select {
		case err := <-ended:
			return err, true
		case <-ctx.Done():
			return nil, false
		case <-daily.C:
			if o.Daily != nil {
				o.Daily(ctx)
			}
		}
	}
}
