package words

import (
	"go/ast"
	"go/constant"
	"go/types"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/tools/go/packages"
)

// spoken are all texts in the service's sources, each with a place where it is used, and the calls that say them.
type spoken struct {
	at    map[string]string
	calls []said
}

// said is a call that says a constant text.
type said struct {
	at, text string
	args     int // -1: a list
}

// speaking reads the service's sources. Whatever constant the compiler takes for a Text is one.
func speaking(t *testing.T) spoken {
	t.Helper()
	loaded, err := packages.Load(&packages.Config{Mode: packages.LoadSyntax, Dir: "../../.."}, "./service/...")
	if err != nil {
		t.Fatal(err)
	}
	found := spoken{at: map[string]string{}}
	for _, p := range loaded {
		for _, e := range p.Errors {
			t.Fatal(e)
		}
		for _, f := range p.Syntax {
			ast.Inspect(f, func(n ast.Node) bool {
				if e, ok := n.(ast.Expr); ok {
					found.note(p, e)
				}
				if call, ok := n.(*ast.CallExpr); ok {
					found.call(p, call)
				}
				return true
			})
		}
	}
	return found
}

func (s *spoken) note(p *packages.Package, e ast.Expr) {
	if text, ok := constantText(p, e); ok && text != "" {
		s.at[text] = where(p, e)
	}
}

// call keeps calls of a function that takes a Text and then strings for it.
func (s *spoken) call(p *packages.Package, call *ast.CallExpr) {
	signature, ok := p.TypesInfo.Types[call.Fun].Type.(*types.Signature)
	if !ok || !signature.Variadic() {
		return
	}
	first := signature.Params().Len() - 1 // of the arguments
	if first == 0 || !isText(signature.Params().At(first-1).Type()) {
		return
	}
	args := len(call.Args) - first
	if call.Ellipsis.IsValid() {
		args = -1
	}
	for i := range first {
		if isText(signature.Params().At(i).Type()) && i >= first-texts(signature, first) {
			if text, ok := constantText(p, call.Args[i]); ok {
				s.calls = append(s.calls, said{where(p, call), text, args})
			}
		}
	}
}

// texts is how many of the parameters before the arguments are texts that take them: the last, and of a plural the last two.
func texts(s *types.Signature, first int) int {
	n := 1
	for i := range first {
		if p := s.Params().At(i); p.Name() == "one" {
			n = 2
		}
	}
	return n
}

func isText(t types.Type) bool {
	named, ok := types.Unalias(t).(*types.Named)
	return ok && named.Obj().Name() == "Text" && strings.HasSuffix(named.Obj().Pkg().Path(), "service/internal/words")
}

func constantText(p *packages.Package, e ast.Expr) (string, bool) {
	v := p.TypesInfo.Types[e]
	if v.Value == nil || v.Value.Kind() != constant.String || !isText(v.Type) {
		return "", false
	}
	return constant.StringVal(v.Value), true
}

func where(p *packages.Package, n ast.Node) string {
	at := p.Fset.Position(n.Pos())
	return at.Filename[strings.LastIndex(at.Filename, "/service/")+1:] + ":" + strconv.Itoa(at.Line)
}

var placeholder = regexp.MustCompile(`%(?:\[(\d)\])?(.?)`)

// placeholders are the arguments of a text by their numbers, in their order; false where it is not well formed.
func placeholders(text string) (list []int, ok bool) {
	if !strings.Contains(text, "%s") && !strings.Contains(text, "%[") {
		return nil, true
	}
	next := 1
	for _, m := range placeholder.FindAllStringSubmatch(text, -1) {
		switch {
		case m[0] == "%%":
		case m[2] != "s":
			return nil, false
		case m[1] == "":
			list = append(list, next)
			next++
		default:
			n, _ := strconv.Atoi(m[1])
			list = append(list, n)
		}
	}
	return list, true
}

// Every text in the sources has a translation into every language, with the same arguments, and there is none for a text that nobody says.
func TestEveryTextIsTranslated(t *testing.T) {
	in := speaking(t)
	if len(in.at) < 200 {
		t.Fatalf("only %d texts were found", len(in.at))
	}
	for code, s := range speeches() {
		for text, at := range in.at {
			own, ok := s.texts[text]
			if !ok {
				t.Errorf("%s: no %s for %q", at, code, text)
				continue
			}
			sameShape(t, code, text, own)
		}
		for text := range s.texts {
			if in.at[text] == "" {
				t.Errorf("%s: nobody says %q", code, text)
			}
		}
	}
	for _, c := range in.calls {
		want, ok := placeholders(c.text)
		if !ok || c.args >= 0 && len(want) != c.args {
			t.Errorf("%s: %q gets %d arguments", c.at, c.text, c.args)
		}
	}
}

// sameShape wants of a translation what goes around a text: its arguments, and the blanks, stops and signs at its ends, to which others are
// joined.
func sameShape(t *testing.T, code, text, own string) {
	t.Helper()
	want, ok := placeholders(text)
	got, well := placeholders(own)
	order := slices.Clone(got)
	slices.Sort(order)
	if !ok || !well || !slices.Equal(order, want) {
		t.Errorf("%s: %q has the arguments %v, and %q has %v", code, text, want, own, got)
	}
	if strings.Contains(own, "%s") && strings.Contains(own, "%[") {
		t.Errorf("%s: %q numbers some of its arguments only", code, own)
	}
	for _, end := range []*regexp.Regexp{regexp.MustCompile(`^[ ,;:.]*`), regexp.MustCompile(`[ ,;:.]*$`)} {
		if end.FindString(text) != end.FindString(own) {
			t.Errorf("%s: %q and %q begin or end in another way", code, text, own)
		}
	}
	for _, sign := range []string{"°", "±", "⌀", "→", "←", "↑", "↓", "%%", " %,"} {
		if strings.Count(text, sign) != strings.Count(own, sign) {
			t.Errorf("%s: %q has not the %s of %q", code, own, sign, text)
		}
	}
	if numbers := regexp.MustCompile(`\d[\d/]*`); !slices.Equal(sorted(numbers.FindAllString(placeholder.ReplaceAllString(text, ""), -1)), sorted(numbers.FindAllString(placeholder.ReplaceAllString(own, ""), -1))) {
		t.Errorf("%s: %q has other numbers than %q", code, own, text)
	}
}

// terms are words of the trade with what they are in every language, as the package's doc has them.
var terms = map[string]map[string]string{
	"edge angle": {"de": "schneidenwinkel", "es": "ángulo del filo"}, "wedge angle": {"de": "keilwinkel", "es": "ángulo de cuña"},
	"front angle": {"de": "frontwinkel", "es": "ángulo frontal"}, "bevel reading": {"de": "fasenablesung", "es": "lectura del bisel"},
	"included angle": {"de": "gesamtwinkel", "es": "ángulo total"}, "reference line": {"de": "bezugslinie", "es": "línea de referencia"},
	"keener": {"de": "spitzer", "es": "agudo"}, "blunter": {"de": "stumpfer", "es": "obtuso"}, "bevel": {"de": "fase", "es": "bisel"},
	"land": {"de": "schneidfase", "es": "faja"}, "relief": {"de": "freischliff", "es": "alivio"}, "facet": {"de": "facette", "es": "faceta"},
	"heel": {"de": "ferse", "es": "talón"}, "nose": {"de": "spitze", "es": "punta"}, "wing": {"de": "flügel", "es": "ala"},
	"setback": {"de": "rückversatz", "es": "retroceso"}, "flute": {"de": "nut", "es": "canal"}, "steel's depth": {"de": "stahldicke", "es": "profundidad del acero"},
	"stick-out": {"de": "überstand", "es": "voladizo"}, "holder": {"de": "halter", "es": "portaútil"}, "leg": {"de": "schenkel", "es": "pata"},
	"support": {"de": "auflage", "es": "soporte"}, "pocket": {"de": "tasche", "es": "alojamiento"}, "platform": {"de": "plattform", "es": "plataforma"},
	"slide": {"de": "schlitten", "es": "carro"}, "adjuster": {"de": "stellschraube", "es": "tornillo de ajuste"}, "pivot": {"de": "drehpunkt", "es": "punto de giro"},
	"wheel": {"de": "scheibe", "es": "muela"}, "wheel gap": {"de": "scheibenabstand", "es": "distancia"}, "station": {"de": "station", "es": "estación"},
	"recipe": {"de": "rezept", "es": "receta"}, "gauge": {"de": "lehre", "es": "plantilla"}, "protractor": {"de": "winkelmesser", "es": "transportador"},
	"notch": {"de": "kerbe", "es": "muesca"}, "label": {"de": "etikett", "es": "etiqueta"},
	"scraper": {"de": "schaber", "es": "rasqueta"}, "bowl gouge": {"de": "schalenröhre", "es": "gubia para cuencos"},
	"play": {"de": "spiel", "es": "juego"}, "burr": {"de": "grat", "es": "rebaba"}, "superabrasive": {"de": "superschleifmittel", "es": "superabrasiv"},
}

// A word of the trade is the same word in every text.
func TestOneWordForOneThing(t *testing.T) {
	for term, in := range terms {
		found, said := 0, regexp.MustCompile(`(?i)(^|[^\pL-])`+term+`s?([^\pL-]|$)`)
		for code, s := range speeches() {
			for text, own := range s.texts {
				if !said.MatchString(text) {
					continue
				}
				if found++; !strings.Contains(strings.ToLower(own), in[code]) {
					t.Errorf("%s: %q is %q, which says nothing of %q", code, text, own, in[code])
				}
			}
		}
		if found == 0 {
			t.Errorf("no text says %q", term)
		}
	}
}

func sorted(list []string) []string {
	slices.Sort(list)
	return list
}
