// Command arris is the command line, with a service of its own for when no server is named.
package main

import (
	"context"
	"errors"
	"os"
	"os/signal"
	"syscall"
	"time"

	"google.golang.org/grpc"

	"arris.example/client/arris"
	"arris.example/service"
)

// patience is how long calls under way may take to end with the command.
const patience = 2 * time.Second

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := arris.Run(ctx, os.Args[1:], local, arris.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
	stop()
	os.Exit(code)
}

// local is a service in this process. Without a store it has the demonstration shop, so that its names work before there is one.
func local(p arris.Place) (grpc.ClientConnInterface, func() error, error) {
	s, err := service.New(service.Config{
		Demo: p.Store == "", Store: p.Store, ReadOnlyStore: p.Store != "" && !p.Writes, Who: "a command of arris", OneCall: true,
	})
	if err != nil {
		return nil, nil, err
	}
	conn, err := s.Dial()
	if err != nil {
		return nil, nil, errors.Join(err, stopped(s))
	}
	return conn, func() error { return errors.Join(conn.Close(), stopped(s)) }, nil
}

func stopped(s *service.Service) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return s.Stop(ctx)
}
