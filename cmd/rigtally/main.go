// Command rigtally keeps a journal of how rigs fished and answers questions of it.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // for machines without a time zone database
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), endings()...)
	// A reader that closes its pipe must not kill the program before it has
	// released its database: taken notice of, the signal becomes an error of the write.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Environ())
	stop()
	os.Exit(status)
}

// endings are the signals that end the program in good order. A hangup is one
// of them unless the user asked to outlive the terminal, as nohup does.
func endings() []os.Signal {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	return signals
}

// run runs the program with the given arguments, streams and environment, and
// returns its exit status: 0 when the job was done, 1 when it failed, 2 when it
// was asked for in a wrong way. The end of ctx interrupts it.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer, environ []string) int {
	p := newProgram(stdin, stdout, stderr, environ)
	return p.run(ctx, args)
}
