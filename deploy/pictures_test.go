package deploy_test

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"testing"

	"google.golang.org/grpc"

	"arris.example/client/arris"
	"arris.example/service"
)

// TestPictureIsDrawnByThisCode draws the README's picture again.
func TestPictureIsDrawnByThisCode(t *testing.T) {
	local := func(arris.Place) (grpc.ClientConnInterface, func() error, error) {
		s, err := service.New(service.Config{Demo: true})
		if err != nil {
			return nil, nil, err
		}
		conn, err := s.Dial()
		if err != nil {
			return nil, nil, err
		}
		return conn, func() error { return s.Stop(context.Background()) }, nil
	}
	drawn := filepath.Join(t.TempDir(), "bowl-50.svg")
	code := arris.Run(t.Context(), []string{"solve", "bowl-50", "--station", "north", "--svg", drawn}, local, arris.Streams{In: bytes.NewReader(nil), Out: io.Discard, Err: os.Stderr})
	if code != arris.ExitOK {
		t.Fatalf("exit code %d", code)
	}
	got, err := os.ReadFile(drawn)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := os.ReadFile("pictures/bowl-50.svg")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, kept) {
		t.Error("the picture in the README is not what this code draws: run make picture and look at it")
	}
}
