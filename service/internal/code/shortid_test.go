package code

import (
	"bytes"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"arris.example/deploy/outside"
	"arris.example/service/internal/fault"
)

// The example that python-stdnum, an outside implementation, documents for its mod_37_2.
func TestCheckCharacterIsThePublishedOne(t *testing.T) {
	if got := checkOf("G123489654321"); got != 'Y' {
		t.Errorf("%c", got)
	}
}

// An outside implementation, Debian's python3-stdnum, gives the same check characters.
func TestCheckCharacterAgreesWithAnother(t *testing.T) {
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import stdnum").Run() != nil {
		outside.Missing(t, "stdnum is missing: install Debian's python3-stdnum")
	}
	random := rand.New(rand.NewPCG(37, 2))
	var asked, want strings.Builder
	for range 2000 {
		text := randomID(random)
		asked.WriteString(strings.ReplaceAll(text, "-", "*") + "\n")
		want.WriteString(string(checkOf(text)) + "\n")
	}
	cmd := exec.Command(python, "-c", "import sys\nfrom stdnum.iso7064 import mod_37_2\nfor l in sys.stdin: print(mod_37_2.calc_check_digit(l.strip()))")
	cmd.Stdin = strings.NewReader(asked.String())
	got, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, []byte(want.String())) {
		t.Error("they differ")
	}
}

// randomID is a kind's letter and an id in capitals.
func randomID(random *rand.Rand) string {
	id := make([]byte, 1+random.IntN(63))
	for i := range id {
		id[i] = (symbols[:36] + "-")[random.IntN(37)]
	}
	id[0] = 'A' + byte(random.IntN(26))
	return collections[random.IntN(len(collections))].letter + strings.TrimRight(string(id), "-")
}

// Every single wrong character and every two neighbours that changed places are found, wherever in an id of whatever length, the check
// character and the kind's letter among them: for all 37 characters in every place of ids of every length there is.
func TestEveryMistakeIsFound(t *testing.T) {
	random := rand.New(rand.NewPCG(7064, 37))
	wrong := func(text string) bool { return checkOf(text[:len(text)-1]) != text[len(text)-1] }
	tried := 0
	for length := 1; length <= 63; length++ {
		id := []byte(randomID(random))
		for len(id) < length+1 {
			id = append(id, (symbols[:36] + "-")[random.IntN(37)])
		}
		id = append(id[:length+1], checkOf(string(id[:length+1])))
		if wrong(string(id)) {
			t.Fatalf("%s is sound", id)
		}
		for place := range id {
			for _, c := range []byte(symbols) {
				mistaken := bytes.Clone(id)
				if mistaken[place] = c; c == bytes.ReplaceAll(id, []byte("-"), []byte("*"))[place] {
					continue
				}
				if tried++; !wrong(string(mistaken)) {
					t.Fatalf("%s passes for %s", mistaken, id)
				}
			}
			if place > 0 && id[place] != id[place-1] {
				mistaken := bytes.Clone(id)
				mistaken[place], mistaken[place-1] = mistaken[place-1], mistaken[place]
				// As the check character a hyphen stands for a star, which it never is written as.
				if tried++; !wrong(string(mistaken)) {
					t.Fatalf("%s passes for %s", mistaken, id)
				}
			}
		}
	}
	if tried < 70_000 {
		t.Errorf("only %d mistakes were tried", tried)
	}
}

// All pairs of characters that may be neighbours, in every place of a short id that one reads: exhaustively.
func TestAllPairsInAllPlaces(t *testing.T) {
	for place := range 12 {
		for _, a := range symbols {
			for _, b := range symbols {
				if a == b {
					continue
				}
				text := []rune("TBOWLGOUGE1234")
				text[place+1], text[place+2] = a, b
				one := checkOf(string(text))
				text[place+1], text[place+2] = b, a
				if checkOf(string(text)) == one {
					t.Fatalf("%c and %c may change places at %d", a, b, place)
				}
			}
		}
	}
}

func TestShortIDsAreReadAsTyped(t *testing.T) {
	const name = "shops/main/tools/bowl-gouge-12"
	if got := ShortID(name); got != "T.BOWL-GOUGE-12.3" {
		t.Fatal(got)
	}
	for _, typed := range []string{"T.BOWL-GOUGE-12.3", "t.bowl-gouge-12.3", "T BOWL-GOUGE-12 3", " t. bowl-gouge-12 .3 "} {
		if collection, id, is, err := readShortID(typed); err != nil || !is || collection != "tools" || id != "bowl-gouge-12" {
			t.Errorf("%q: %s %s %t %v", typed, collection, id, is, err)
		}
	}
	for _, typed := range []string{"", "T", "T.", "bowl-gouge-12", "X.BOWL.3", "T.BÖWL.3", "T.BO*WL.3", "T.A.B.C", "...", "T-BOWL-3"} {
		if _, _, is, err := readShortID(typed); is || err != nil {
			t.Errorf("%q is taken for one: %v", typed, err)
		}
	}
	_, _, is, err := readShortID("T.BOWL-GUOGE-12.3")
	if f, ok := fault.As(err); !is || !ok || f.Kind != fault.BadRequest || !strings.Contains(f.Message, `ends in "3" where T.BOWL-GUOGE-12 ends in `) {
		t.Errorf("%t %v", is, err)
	}
	if ShortID("shops/main/gauges/b-10") != "" || ShortID("shops/main") != "" {
		t.Error("something has a short id that has none")
	}
}
