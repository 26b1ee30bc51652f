package figure

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"google.golang.org/protobuf/encoding/protojson"

	client "arris.example/client/figure"
)

// The drawings are kept, to be looked at, where `go test` is told to keep what tests make.
func TestSamplesRender(t *testing.T) {
	folder := t.ArtifactDir()
	views := samples(t)
	for _, name := range slices.Sorted(maps.Keys(views)) {
		f := wire(SideView(views[name]))
		var svg, lit, text bytes.Buffer
		if err := client.SVG(&svg, f, client.Options{Title: name}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := client.SVG(&lit, f, client.Options{Title: name, Highlight: "wheel_gap", Dark: true}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, o := range []client.TerminalOptions{{}, {Columns: 120}, {ASCII: true}} {
			if err := client.Terminal(&text, f, o); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		asJSON, err := protojson.MarshalOptions{Multiline: true}.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		for suffix, content := range map[string][]byte{".json": asJSON, ".svg": svg.Bytes(), "-lit.svg": lit.Bytes(), ".txt": text.Bytes()} {
			if err := os.WriteFile(filepath.Join(folder, name+suffix), content, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}
