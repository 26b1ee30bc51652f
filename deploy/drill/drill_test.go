//go:build unix

// Package drill_test kills a built server, takes its database away and fills its disk, while several write, and holds it to its word: what
// was answered is there, once and whole.
//
//	ARRIS_DRILL_KILLS=200  how often the server is killed; 40 unless said
//	ARRIS_TEST_SEED=7      what the moments are drawn from; printed
package drill_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"arris.example/deploy/postgrestest"
)

// workshop is the folder for what all drills use.
var workshop string

// database is a PostgreSQL, nil where there is none.
var database *postgrestest.Server

func TestMain(m *testing.M) {
	os.Exit(func() int {
		var err error
		if workshop, err = os.MkdirTemp("", "arris-drill"); err == nil {
			database, err = postgrestest.Start()
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(workshop)
		if database != nil {
			defer database.Stop()
		}
		return m.Run()
	}())
}

func number(t *testing.T, name string, otherwise int) int {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		return otherwise
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return n
}

func seeded(t *testing.T) *rand.Rand {
	t.Helper()
	seed := number(t, "ARRIS_TEST_SEED", int(time.Now().UnixNano()%1e9))
	t.Logf("ARRIS_TEST_SEED=%d", seed)
	return rand.New(rand.NewPCG(uint64(seed), 0))
}

// writers is how many write at once.
const writers = 6

// killing is a drill: a store whose server is killed again and again.
type killing struct {
	*testing.T
	program
	store  string
	random *rand.Rand
	crew   crew
	kept   int // of the writes that were under way when the server was killed
}

// once starts the server, now and then killing it while it starts, lets all write, kills it at some moment, looks at what it left, and
// gives what is wrong with it.
func (k *killing) once() (faults []string) {
	k.Helper()
	if k.random.IntN(4) == 0 {
		unready := launch(k.T, k.store, string(k.program))
		time.Sleep(time.Duration(k.random.IntN(200)) * time.Millisecond)
		unready.kill()
	}
	server := start(k.T, k.store, string(k.program))
	ended := k.crew.write(server.conn)
	time.Sleep(time.Duration(5+k.random.IntN(250)) * time.Millisecond)
	server.kill()
	for _, err := range ended() {
		if status.Code(err) != codes.Unavailable {
			faults = append(faults, "a writer ended otherwise than with its server: "+err.Error())
		}
	}
	server.conn.Close()
	if err := k.check(k.store); err != nil {
		return append(faults, err.Error())
	}
	server = start(k.T, k.store, string(k.program))
	faults = append(faults, k.look(server)...)
	server.conn.Close()
	server.kill()
	return faults
}

// look audits twice: as the server was left, and once all that was open is settled.
func (k *killing) look(server *running) (faults []string) {
	k.Helper()
	has, err := k.crew.survey(server.conn)
	if err != nil {
		k.Fatalf("reading: %v\n%s", err, server.log)
	}
	faults = k.crew.audit(has)
	for _, w := range k.crew {
		if d := w.last(); d != nil && d.names == nil && len(has[d.mark]) > 0 {
			k.kept++
		}
	}
	if err := k.crew.settle(server.conn); err != nil {
		return append(faults, err.Error())
	}
	if has, err = k.crew.survey(server.conn); err != nil {
		k.Fatalf("reading: %v\n%s", err, server.log)
	}
	return append(faults, k.crew.audit(has)...)
}

// times runs the drill.
func (k *killing) times(kills int) {
	k.Helper()
	struck := 0
	for i := range kills {
		before, _ := k.crew.count()
		if faults := k.once(); len(faults) > 0 {
			k.Fatalf("after %d kills:\n%s", i+1, strings.Join(faults, "\n"))
		}
		if after, _ := k.crew.count(); after > before {
			struck++
		}
	}
	done, _ := k.crew.count()
	k.Logf("%d kills, %d of them amid writes: %d writes answered, all there once and whole; of those under way %d were done", kills, struck, done, k.kept)
	if struck < kills*3/4 {
		k.Errorf("only %d of %d kills came while something was written", struck, kills)
	}
}

func killingOf(t *testing.T, p program, store string) *killing {
	t.Helper()
	random := seeded(t)
	return &killing{T: t, program: p, store: store, random: random, crew: newCrew(writers, random)}
}

func TestKilledServerLosesNothing(t *testing.T) {
	kills := number(t, "ARRIS_DRILL_KILLS", 40)
	killingOf(t, needed(t, built), filepath.Join(t.TempDir(), "shop.db")).times(kills)
}

func TestServerKilledBesideItsDatabase(t *testing.T) {
	kills := number(t, "ARRIS_DRILL_KILLS", 40) / 4
	killingOf(t, needed(t, built), address(t)).times(kills)
}

func address(t *testing.T) string {
	t.Helper()
	if database == nil {
		t.Skip("PostgreSQL is not installed here (Debian's postgresql)")
	}
	return database.Database(t)
}

// A server that answers before it commits is found out.
func TestTheDrillCanFail(t *testing.T) {
	k := killingOf(t, needed(t, hasty), filepath.Join(t.TempDir(), "shop.db"))
	for i := range 10 {
		if faults := k.once(); len(faults) > 0 {
			t.Logf("found out after %d kills: %s", i+1, faults[0])
			return
		}
	}
	t.Error("ten kills of a server that answers before it commits, and nothing is missed")
}
