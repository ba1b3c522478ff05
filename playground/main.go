// Playground serves the page that shows where the lift of a craft acts, height
// by height, or writes it as static files.
//
//	go run ./playground              build, serve on this machine only, print the address
//	go run ./playground -out DIR     write everything a static host needs to DIR
//
// The solver runs in the browser: the command builds playground/wasm with the go
// command that is on the path.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/signal"
	"time"

	"example.org/groundeffect/playground/site"
)

func main() {
	out := flag.String("out", "", "write the page to this directory instead of serving it")
	port := flag.Int("port", 8075, "port to serve on; 0 takes a free one")
	flag.Parse()
	if flag.NArg() > 0 {
		fmt.Fprintf(os.Stderr, "playground: what is %q for? The flags are -out DIR and -port N.\n", flag.Arg(0))
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, *out, *port); err != nil {
		fmt.Fprintln(os.Stderr, "playground:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, out string, port int) error {
	fmt.Println("building the solvers for the browser; the first time takes a while")
	s, err := site.Build(ctx)
	if err != nil {
		return err
	}
	if out != "" {
		fmt.Println("compressing it, a minute or so")
		if err := s.Shrink(); err != nil {
			return err
		}
		for name, size := range s.WasmSizes() {
			fmt.Printf("%s: %.2f MB compressed (brotli)\n", name, float64(size)/1e6)
		}
		if err := s.Write(out); err != nil {
			return err
		}
		fmt.Println("written to", out)
		return nil
	}
	l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", port))
	if err != nil {
		return fmt.Errorf("%w; choose another port with -port", err)
	}
	fmt.Printf("http://%s/ (ctrl-C stops it)\n", l.Addr())
	srv := s.Server()
	go func() {
		<-ctx.Done()
		shut, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = srv.Shutdown(shut) // the process ends either way
	}()
	if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
