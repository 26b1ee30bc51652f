package service_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"

	"arris.example/service"
)

// inspectedKinds are the kinds that are inspected regularly, each with one as it is made new.
var inspectedKinds = []struct{ service, one, collection, field, fresh string }{
	{"ShopService", "Station", "stations", "station", `"supports":[{"supportId":"bar","bar":{"diameterMm":12}}]`},
	{"WheelService", "Wheel", "wheels", "wheel", `"diameterMm":200`},
	{"ToolService", "Holder", "holders", "holder", `"clamp":{"barBehindFaceMm":14,"barBelowMm":16}`},
}

// subject is one record that is inspected, told by one line each.
type subject struct {
	asker
	service, one, field, name string
}

func (s subject) now() object { return s.ask(s.service, "Get"+s.one, `{"name":%q}`, s.name) }

func (s subject) look(finding string, at time.Time) {
	s.ask("ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":%q,"finding":"INSPECTION_FINDING_%s","occurTime":%q}}`,
		s.name, finding, at.Format(time.RFC3339))
}

func (s subject) set(mask, fields string) {
	s.ask(s.service, "Update"+s.one, `{%q:{"name":%q%s},"updateMask":%q}`, s.field, s.name, fields, mask)
}

func (s subject) every(days int) {
	s.set("inspectionIntervalDays", fmt.Sprintf(`,"inspectionIntervalDays":%d`, days))
}

// When something is due follows from its interval and its newest inspection, in whatever order these were told. What is made is weekly.
func TestInspectionsAreDue(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 10, n, 7, 0, 0, 0, time.UTC) }
	cases := map[string]struct {
		tell      func(s subject)
		last, due time.Time // zero: unset
		found     string
		fromNow   bool // due from when the interval was set
	}{
		"never inspected": {tell: func(subject) {}, fromNow: true},
		"sound":           {tell: func(s subject) { s.look("SOUND", day(1)) }, last: day(1), found: "SOUND", due: day(8)},
		"to be seen to":   {tell: func(s subject) { s.look("ATTENTION", day(1)) }, last: day(1), found: "ATTENTION", due: day(8)},
		"unsafe":          {tell: func(s subject) { s.look("UNSAFE", day(1)) }, last: day(1), found: "UNSAFE", due: day(8)},
		"inspected again": {tell: func(s subject) { s.look("UNSAFE", day(1)); s.look("SOUND", day(2)) }, last: day(2), found: "SOUND", due: day(9)},
		"told late":       {tell: func(s subject) { s.look("SOUND", day(5)); s.look("UNSAFE", day(1)) }, last: day(5), found: "SOUND", due: day(12)},
		"told late, then the interval changed": {
			tell: func(s subject) { s.look("SOUND", day(5)); s.look("SOUND", day(1)); s.every(14) }, last: day(5), found: "SOUND", due: day(19),
		},
		"shorter interval":                  {tell: func(s subject) { s.look("SOUND", day(1)); s.every(1) }, last: day(1), found: "SOUND", due: day(2)},
		"never inspected, another interval": {tell: func(s subject) { s.every(30) }, fromNow: true},
		"interval removed":                  {tell: func(s subject) { s.look("SOUND", day(1)); s.set("inspectionIntervalDays", "") }, last: day(1), found: "SOUND"},
		"removed before it was inspected":   {tell: func(s subject) { s.set("inspectionIntervalDays", "") }},
		"inspected without an interval":     {tell: func(s subject) { s.set("inspectionIntervalDays", ""); s.look("UNSAFE", day(3)) }, last: day(3), found: "UNSAFE"},
		"two without an interval, told late": {
			tell: func(s subject) {
				s.set("inspectionIntervalDays", "")
				s.look("UNSAFE", day(3))
				s.look("SOUND", day(2))
			}, last: day(3), found: "UNSAFE",
		},
		"put right without an interval": {
			tell: func(s subject) {
				s.set("inspectionIntervalDays", "")
				s.look("UNSAFE", day(3))
				s.look("ATTENTION", day(4))
			}, last: day(4), found: "ATTENTION",
		},
		"two at one time":                      {tell: func(s subject) { s.look("UNSAFE", day(1)); s.look("SOUND", day(1)) }, last: day(1), due: day(8), found: "UNSAFE"},
		"two at one time, the other way round": {tell: func(s subject) { s.look("SOUND", day(1)); s.look("UNSAFE", day(1)) }, last: day(1), due: day(8), found: "UNSAFE"},
		"an interval for an older log": {
			tell: func(s subject) {
				s.set("inspectionIntervalDays", "")
				s.look("SOUND", day(3))
				s.look("SOUND", day(2))
				s.every(10)
			}, last: day(3), found: "SOUND", due: day(13),
		},
		"deleted and brought back": {
			tell: func(s subject) {
				s.look("SOUND", day(1))
				s.ask(s.service, "Delete"+s.one, `{"name":%q}`, s.name)
				s.refuse(codes.FailedPrecondition, "DELETED", "ShopService", "CreateInspection",
					`{"parent":"shops/main","inspection":{"subject":%q,"finding":"INSPECTION_FINDING_SOUND"}}`, s.name)
				s.ask(s.service, "Undelete"+s.one, `{"name":%q}`, s.name)
			}, last: day(1), found: "SOUND", due: day(8),
		},
		"people say when": {
			tell: func(s subject) {
				s.look("SOUND", day(1))
				s.set("inspectTime,inspectionDueTime,inspectFinding,displayName", `,"inspectTime":"2026-11-01T00:00:00Z","inspectFinding":"INSPECTION_FINDING_UNSAFE","inspectionDueTime":"2036-01-01T00:00:00Z","displayName":"Renamed"`)
			}, last: day(1), found: "SOUND", due: day(8),
		},
		"across the end of summer time": {tell: func(s subject) { s.look("SOUND", day(22)) }, last: day(22), found: "SOUND", due: day(29)},
	}
	a := askerOf(t, service.Config{Demo: true})
	n := 0
	for _, kind := range inspectedKinds {
		for name, c := range cases {
			n++
			began := time.Now().Truncate(time.Microsecond)
			made := a.ask(kind.service, "Create"+kind.one, `{"parent":"shops/main","%sId":"due-%d",%q:{"inspectionIntervalDays":7,"inspectFinding":"INSPECTION_FINDING_UNSAFE","inspectionDueTime":"2036-01-01T00:00:00Z",%s}}`,
				kind.field, n, kind.field, kind.fresh)
			other := a.ask(kind.service, "Create"+kind.one, `{"parent":"shops/main","%sId":"other-%d",%q:{"inspectionIntervalDays":7,%s}}`, kind.field, n, kind.field, kind.fresh)
			s := subject{a, kind.service, kind.one, kind.field, made["name"].(string)}
			c.tell(s)
			got := s.now()
			last, due := timeAt(t, got["inspectTime"]), timeAt(t, got["inspectionDueTime"])
			if c.fromNow {
				if due.Before(began) || due.After(time.Now()) || !last.IsZero() {
					t.Errorf("%s, %s: inspected %v, due %v, want it due from %v on", kind.one, name, last, due, began)
				}
			} else if !last.Equal(c.last) || !due.Equal(c.due) {
				t.Errorf("%s, %s: inspected %v, due %v, want %v and %v", kind.one, name, last, due, c.last, c.due)
			}
			if found, _ := got["inspectFinding"].(string); strings.TrimPrefix(found, "INSPECTION_FINDING_") != c.found {
				t.Errorf("%s, %s: found %q, want %q", kind.one, name, found, c.found)
			}
			if now := (subject{a, kind.service, kind.one, kind.field, other["name"].(string)}).now(); now["etag"] != other["etag"] || now["inspectTime"] != nil {
				t.Errorf("%s, %s: another one is %v, and was %v", kind.one, name, now, other)
			}
		}
	}
}

func timeAt(t *testing.T, text any) (at time.Time) {
	t.Helper()
	if text == nil {
		return at
	}
	at, err := time.Parse(time.RFC3339, text.(string))
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// An interval is days of 24 hours: where clocks are set back meanwhile, by Vienna's rules (IANA's database) on 25 October 2026, the wall's clock
// shows an hour less.
func TestIntervalsAreDaysOfTheClockNotOfTheWall(t *testing.T) {
	vienna, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		t.Fatal(err)
	}
	a := askerOf(t, service.Config{Demo: true})
	looked := time.Date(2026, 10, 24, 9, 0, 0, 0, vienna)
	a.ask("ShopService", "UpdateShop", `{"shop":{"name":"shops/main","timeZone":"Europe/Vienna"},"updateMask":"timeZone"}`)
	a.ask("ShopService", "CreateStation", `{"parent":"shops/main","stationId":"wall","station":{"inspectionIntervalDays":2,"supports":[{"supportId":"bar","bar":{"diameterMm":12}}]}}`)
	s := subject{a, "ShopService", "Station", "station", "shops/main/stations/wall"}
	s.look("SOUND", looked)
	due := timeAt(t, s.now()["inspectionDueTime"])
	if due.Sub(looked) != 48*time.Hour || due.In(vienna).Format("2 Jan 15:04") != "26 Oct 08:00" {
		t.Errorf("due %v", due.In(vienna))
	}
}

// What is due is listed by the filter, soonest first, and what has no interval comes last.
func TestWhatIsDueIsListed(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	listed := func(method, query string, args ...any) []string {
		return names(a.ask("ShopService", method, `{"parent":"shops/main",%s}`, fmt.Sprintf(query, args...)))
	}
	soon := time.Now().AddDate(0, 0, 3).UTC().Format(time.RFC3339)
	for query, want := range map[string]string{
		fmt.Sprintf(`"filter":"inspection_due_time < %s"`, `\"`+time.Now().UTC().Format(time.RFC3339)+`\"`):     "west",
		fmt.Sprintf(`"filter":"inspection_due_time < %s","orderBy":"inspection_due_time"`, `\"`+soon+`\"`):      "west south",
		fmt.Sprintf(`"filter":"inspection_due_time < %s","orderBy":"inspection_due_time desc"`, `\"`+soon+`\"`): "south west",
		fmt.Sprintf(`"filter":"NOT inspection_due_time < %s","orderBy":"inspection_due_time"`, `\"`+soon+`\"`):  "north",
		fmt.Sprintf(`"filter":"inspection_due_time < %s AND state = STATION_STATE_LOCKED"`, `\"`+soon+`\"`):     "",
		`"orderBy":"inspection_due_time"`: "west south north",
	} {
		var got []string
		for _, name := range listed("ListStations", "%s", query) {
			got = append(got, name[strings.LastIndexByte(name, '/')+1:])
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %v, want %s", query, got, want)
		}
	}
	a.ask("ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":"shops/main/stations/west","finding":"INSPECTION_FINDING_SOUND"}}`)
	if late := listed("ListStations", `"filter":"inspection_due_time < \"%s\""`, time.Now().UTC().Format(time.RFC3339)); len(late) > 0 {
		t.Errorf("due although inspected: %v", late)
	}
	// Two of the five wheels have no interval; pages of one go through all the same.
	var all []string
	token := ""
	for range 6 {
		page := a.ask("WheelService", "ListWheels", `{"parent":"shops/main","orderBy":"inspection_due_time","pageSize":1,"pageToken":%q}`, token)
		for _, name := range names(page) {
			all = append(all, name[strings.LastIndexByte(name, '/')+1:])
		}
		if token, _ = page["nextPageToken"].(string); token == "" {
			break
		}
	}
	if want := []string{"north-fine", "west-small", "south-white", "flat-disc", "spare-coarse"}; !slices.Equal(all, want) {
		t.Errorf("page by page %v, want %v", all, want)
	}
	st := a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ShopService", "ListStations", `{"parent":"shops/main","filter":"inspection_due_time < \"soon\""}`)
	if !strings.Contains(st.Message(), "write a time such as") {
		t.Errorf("a word for a time: %s", st.Message())
	}
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "ListTools", `{"parent":"shops/main","filter":"inspection_due_time < %s"}`, `\"`+soon+`\"`)
	for _, days := range []string{"0", "-1", "3651"} {
		st := a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ShopService", "UpdateStation", `{"station":{"name":"shops/main/stations/west","inspectionIntervalDays":%s}}`, days)
		if !slices.Contains(fieldsIn(st), "station.inspection_interval_days") {
			t.Errorf("%s days: %v", days, fieldsIn(st))
		}
	}
}

// A set-up says which inspections are overdue, gives its numbers all the same, and speaks of the time that it is asked as of.
func TestOverdueInspectionsAreSaid(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	said := func(station string, more string) (texts []string) {
		setup := a.ask("GrindService", "SolveSetup", `{"shop":"shops/main","recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/%s"}%s}`, station, more)["setup"].(object)
		if len(setup["steps"].([]any)) == 0 {
			t.Error("no numbers")
		}
		for _, c := range setup["cautions"].([]any) {
			if c.(object)["code"] == "INSPECTION_DUE" {
				texts = append(texts, c.(object)["severity"].(string)+" "+c.(object)["text"].(string))
			}
		}
		return texts
	}
	on := timeAt(t, a.ask("ShopService", "GetStation", `{"name":"shops/main/stations/west"}`)["inspectionDueTime"])
	if got, want := said("west", ""), []string{"SEVERITY_WARNING The inspection of this station has been due since " + on.Format("2 January 2006") + ". Inspect it before you grind."}; !slices.Equal(got, want) {
		t.Errorf("on west %q, want %q", got, want)
	}
	if got := said("west", fmt.Sprintf(`,"asOfTime":%q`, on.Add(-time.Hour).Format(time.RFC3339))); len(got) > 0 {
		t.Errorf("before it was due: %q", got)
	}
	if got := said("south", ""); len(got) > 0 {
		t.Errorf("on south: %q", got)
	}
	for service, update := range map[string]string{
		"WheelService": `UpdateWheel {"wheel":{"name":"shops/main/wheels/west-small","inspectionIntervalDays":5},"updateMask":"inspectionIntervalDays"}`,
		"ToolService":  `UpdateHolder {"holder":{"name":"shops/main/holders/swing","inspectionIntervalDays":5},"updateMask":"inspectionIntervalDays"}`,
	} {
		method, request, _ := strings.Cut(update, " ")
		a.ask(service, method, "%s", request)
	}
	got := said("west", `,"wording":{"languageCode":"de"}`)
	if len(got) != 3 || !strings.Contains(got[1], "Die Prüfung dieser Scheibe ist seit dem ") || !strings.Contains(got[2], "dieses Halters") {
		t.Errorf("all three, in German: %q", got)
	}
	for _, subject := range []string{"stations/west", "wheels/west-small", "holders/swing"} {
		a.ask("ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":"shops/main/%s","finding":"INSPECTION_FINDING_SOUND"}}`, subject)
	}
	if got := said("west", ""); len(got) > 0 {
		t.Errorf("after inspections: %q", got)
	}
}

// What was found not fit for use is listed by the filter, of all kinds, whether or not it has an interval.
func TestWhatWasFoundIsListed(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	for service, c := range map[string]struct{ one, kind, id, more string }{
		"ShopService": {"Station", "stations", "west", "north south"}, "WheelService": {"Wheel", "wheels", "spare-coarse", ""}, "ToolService": {"Holder", "holders", "swing", ""},
	} {
		s := subject{a, service, c.one, "", "shops/main/" + c.kind + "/" + c.id}
		listed := func(filter string) string {
			var ids []string
			for _, name := range names(a.ask(service, "List"+c.one+"s", `{"parent":"shops/main","filter":%q}`, filter)) {
				ids = append(ids, name[strings.LastIndexByte(name, '/')+1:])
			}
			return strings.Join(ids, " ")
		}
		s.look("UNSAFE", time.Now())
		if got := listed("inspect_finding = INSPECTION_FINDING_UNSAFE"); got != c.id {
			t.Errorf("%s not to be used: %q, want %q", c.kind, got, c.id)
		}
		if got := listed("inspect_finding != INSPECTION_FINDING_UNSAFE"); strings.Contains(" "+got+" ", " "+c.id+" ") || !strings.Contains(got, c.more) {
			t.Errorf("other %s: %q", c.kind, got)
		}
		s.look("SOUND", time.Now().Add(time.Minute))
		if got := listed("inspect_finding = INSPECTION_FINDING_UNSAFE"); got != "" {
			t.Errorf("%s not to be used after they were put right: %q", c.kind, got)
		}
	}
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ShopService", "ListStations", `{"parent":"shops/main","filter":"inspect_finding = BAD"}`)
}

// A set-up says what was found not fit for use, before all that is as serious, and gives its numbers all the same. A newer inspection that finds
// otherwise takes that away; one that comes late does not.
func TestWhatIsNotToBeUsedIsSaid(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	unsafe := func(answer object) (texts []string) {
		for i, c := range answer["cautions"].([]any) {
			if c := c.(object); c["code"] == "INSPECTION_UNSAFE" {
				texts = append(texts, fmt.Sprint(c["severity"], " ", c["source"], " ", c["text"]))
				if i >= len(texts) {
					t.Errorf("%s stands behind %v", c["code"], answer["cautions"].([]any)[0])
				}
			}
		}
		return texts
	}
	west := `"shop":"shops/main","recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/west"}`
	said := func(more string) []string {
		setup := a.ask("GrindService", "SolveSetup", `{%s%s}`, west, more)["setup"].(object)
		if len(setup["steps"].([]any)) == 0 {
			t.Error("no numbers")
		}
		return unsafe(setup)
	}
	if got := said(""); len(got) > 0 {
		t.Errorf("before anybody looked: %q", got)
	}
	before := time.Now()
	station := subject{asker: a, name: "shops/main/stations/west"}
	wheel, holder := subject{asker: a, name: "shops/main/wheels/west-small"}, subject{asker: a, name: "shops/main/holders/swing"}
	on := time.Now().UTC()
	station.look("UNSAFE", on)
	want := "SEVERITY_WARNING shops/main/stations/west West, the small one with the long arm was found not fit for use on " + on.Format("2 January 2006") +
		": lock it, or put it right and inspect it again."
	if got := said(""); !slices.Equal(got, []string{want}) {
		t.Errorf("on west %q, want %q", got, want)
	}
	if got := said(fmt.Sprintf(`,"asOfTime":%q`, before.Format(time.RFC3339Nano))); len(got) > 0 {
		t.Errorf("as of before: %q", got)
	}
	north := a.ask("GrindService", "SolveSetup", `{"shop":"shops/main","recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/north"}}`)["setup"].(object)
	if got := unsafe(north); len(got) > 0 {
		t.Errorf("on north: %q", got)
	}
	// The overdue inspection of its wheel, which has an interval, and of a holder, which has none.
	wheel.look("UNSAFE", on)
	holder.look("UNSAFE", on)
	for language, words := range map[string]string{"en": "was found not fit for use on", "de": "ist nicht zu benutzen", "es": "no se debe usar"} {
		got := said(fmt.Sprintf(`,"wording":{"languageCode":%q}`, language))
		if len(got) != 3 || !strings.Contains(got[1], "Small bonded") || !strings.Contains(got[2], "holders/swing") {
			t.Errorf("in %s all three: %q", language, got)
		}
		for _, text := range got {
			if !strings.Contains(text, words) {
				t.Errorf("in %s %q, without %q", language, text, words)
			}
		}
	}
	if got := unsafe(a.ask("GrindService", "PredictGrind", `{%s,"settings":{"wheelGapMm":108.49}}`, west)); len(got) != 3 {
		t.Errorf("where settings are asked about: %q", got)
	}
	station.look("SOUND", on.Add(-time.Hour)) // told late
	if got := said(""); len(got) != 3 {
		t.Errorf("after an older inspection was told: %q", got)
	}
	for _, s := range []subject{station, wheel, holder} {
		s.look("ATTENTION", on.Add(time.Second))
	}
	if got := said(""); len(got) > 0 {
		t.Errorf("after they were put right: %q", got)
	}
}

// A bevel that is ground on another station says what was found there, and that it is locked.
func TestWhatIsNotToBeUsedIsSaidOfEveryStation(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	subject{asker: a, name: "shops/main/stations/south"}.look("UNSAFE", time.Now())
	a.ask("ShopService", "LockStation", `{"name":"shops/main/stations/south","lockReason":"guard loose"}`)
	setup := a.ask("GrindService", "SolveSetup", `{"shop":"shops/main","given":{"stickOutMm":45,"legAngleDeg":30},"rig":{"station":"shops/main/stations/north","tool":"shops/main/tools/bowl-gouge-12","holder":"shops/main/holders/swing"},
		"grind":{"bevels":[{"frontAngleDeg":50,"widthMm":2},{"frontAngleDeg":40,"rig":{"station":"shops/main/stations/south"}}]}}`)["setup"].(object)
	for _, code := range []string{"INSPECTION_UNSAFE", "STATION_LOCKED"} {
		if !strings.Contains(fmt.Sprint(setup["cautions"]), code) {
			t.Errorf("no %s: %v", code, setup["cautions"])
		}
	}
	if first := setup["cautions"].([]any)[0].(object); first["text"] != "South, under the window is locked: guard loose. Do not grind there until it is put back into service." {
		t.Errorf("first of all: %v", first)
	}
}
