package words

import (
	"testing"
	"time"

	"arris.example/geometry/unit"
)

func spokenIn(t *testing.T, tag string) Language {
	t.Helper()
	l, ok := In(tag)
	if !ok {
		t.Fatalf("%s is not spoken", tag)
	}
	return l
}

// A region is taken for its language, a language that is not spoken for none; so are tags that are none. The decimal marks are CLDR's.
func TestLanguagesAreFoundByTheirTags(t *testing.T) {
	for tag, want := range map[string]struct{ code, number string }{
		"": {"en", "-1.50"}, "en": {"en", "-1.50"}, "en-GB": {"en", "-1.50"}, "de": {"de", "-1,50"}, "DE": {"de", "-1,50"}, "de-AT": {"de", "-1,50"},
		"de_AT": {"de", "-1,50"}, "de-CH": {"de", "-1.50"}, "de-Latn-DE": {"de", "-1,50"}, "es": {"es", "-1,50"}, "es-AR": {"es", "-1,50"}, "es-MX": {"es", "-1.50"},
		"es-419": {"es", "-1.50"}, "fr": {}, "nl": {}, "pt": {}, "ca": {}, "xx": {}, "und": {}, "-": {}, "German": {}, "\xff": {},
	} {
		l, ok := In(tag)
		if ok != (want.code != "") {
			t.Errorf("%q: spoken is %v", tag, ok)
		}
		if ok && (l.Code() != want.code || l.Number(-1.5, 2) != want.number) {
			t.Errorf("%q: %s, %s", tag, l.Code(), l.Number(-1.5, 2))
		}
	}
}

func TestTextsAreFilled(t *testing.T) {
	for _, c := range []struct {
		text string
		args []string
		want string
	}{
		{"%s", []string{"a"}, "a"}, {"%s %s.", []string{"a", "%s"}, "a %s."}, {"%[2]s vor %[1]s", []string{"a", "b"}, "b vor a"},
		{"%s %% von %s", []string{"5", "x"}, "5 % von x"}, {"%[1]s, %[1]s", []string{"ä"}, "ä, ä"},
	} {
		if got := fill(c.text, c.args); got != c.want {
			t.Errorf("%q with %q: %q, want %q", c.text, c.args, got, c.want)
		}
	}
}

func TestLanguagesDiffer(t *testing.T) {
	day := time.Date(2026, 3, 4, 23, 0, 0, 0, time.FixedZone("behind", -2*3600)) // the 5th in UTC
	for tag, want := range map[string][3]string{
		"en": {"5 March 2026", "49.9°", "2.00° keener"},
		"de": {"5. März 2026", "49,9°", "2,00° spitzer"},
		"es": {"5 de marzo de 2026", "49,9°", "2,00° más agudo"},
	} {
		l := spokenIn(t, tag)
		if got := l.Day(day); got != want[0] {
			t.Errorf("%s: %s", tag, got)
		}
		if got := l.Degrees(49.949 * unit.Degree); got != want[1] {
			t.Errorf("%s: %s", tag, got)
		}
		if got := l.Say("%s° keener", l.Number(2, 2)); got != want[2] {
			t.Errorf("%s: %s", tag, got)
		}
	}
}

// One is one thing; none and several are several, as CLDR has it for all three languages.
func TestPlurals(t *testing.T) {
	const one, other = Text("; at %s a time the blade that is free of its grip lasts %s sharpening of the whole edge"), Text("; at %s a time the blade that is free of its grip lasts %s sharpenings of the whole edge")
	for _, tag := range Codes() {
		l := spokenIn(t, tag)
		for n, want := range map[int]Text{0: other, 1: one, 2: other, 11: other, 21: other, 101: other} {
			if got := l.Count(n, one, other, "a", "b"); got != l.Say(want, "a", "b") {
				t.Errorf("%s, %d: %s", tag, n, got)
			}
		}
	}
}

func TestUpper(t *testing.T) {
	for text, want := range map[string]string{"": "", "a b": "A b", "überstand": "Überstand", "ángulo": "Ángulo", "Überstand": "Überstand", "→ a": "→ a", "5 mm": "5 mm", "ßa": "ßa"} {
		if got := Upper(text); got != want {
			t.Errorf("%q: %q", text, got)
		}
	}
}

// Saying is cheap, for a solve says a dozen texts: in English one text made of its parts, elsewhere one look-up more.
func BenchmarkSay(b *testing.B) {
	for _, tag := range Codes() {
		l, _ := In(tag)
		b.Run(tag, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				l.Say("set the stick-out to %s", "45.0 mm")
			}
		})
	}
}
