package service_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service"
)

// object is a message as JSON has it.
type object = map[string]any

// kept are the kinds of records: their service, their names, one as it is made new, and a change of it.
var kept = []struct {
	service, one, many, collection, field string
	fresh, change                         string
	shown                                 string // the field that the change changes, and its value
}{
	{"ShopService", "Station", "Stations", "stations", "station", `{"displayName":"Bench","supports":[{"supportId":"bar","bar":{"diameterMm":12}}]}`,
		`{"largestRestGapMm":2}`, "largestRestGapMm=2"},
	{"ShopService", "Gauge", "Gauges", "gauges", "gauge", `{"displayName":"Block","lengthMm":20}`, `{"lengthMm":20.05}`, "lengthMm=20.05"},
	{"WheelService", "Wheel", "Wheels", "wheels", "wheel", `{"displayName":"Bench","diameterMm":200,"grit":"F80"}`, `{"grit":"F120"}`, "grit=F120"},
	{"ToolService", "Tool", "Tools", "tools", "tool", `{"displayName":"Bench","kind":"TOOL_KIND_SKEW","bladeThicknessMm":8}`,
		`{"location":"rack 2"}`, "location=rack 2"},
	{"ToolService", "Holder", "Holders", "holders", "holder", `{"displayName":"Bench","clamp":{"barBehindFaceMm":14,"barBelowMm":16}}`,
		`{"clamp":{"barBelowMm":17}}`, ""},
	{"RecipeService", "Recipe", "Recipes", "recipes", "recipe", `{"displayName":"Bench","grind":{"bevels":[{"frontAngleDeg":42}]}}`,
		`{"notes":"for oak"}`, "notes=for oak"},
}

// asker calls methods by their names, with requests and answers as JSON.
type asker struct {
	t    *testing.T
	conn grpc.ClientConnInterface
}

func askerOf(t *testing.T, cfg service.Config) asker {
	t.Helper()
	_, conn := started(t, cfg)
	return asker{t, conn}
}

func (a asker) try(service, method, request string) (object, error) {
	a.t.Helper()
	d, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName("arris.v1." + service + "." + method))
	if err != nil {
		a.t.Fatal(err)
	}
	m := d.(protoreflect.MethodDescriptor)
	in, out := messageOf(a.t, m.Input()), messageOf(a.t, m.Output())
	if err := protojson.Unmarshal([]byte(request), in); err != nil {
		a.t.Fatalf("%s: %v in %s", method, err, request)
	}
	if err := a.conn.Invoke(a.t.Context(), "/arris.v1."+service+"/"+method, in, out); err != nil {
		return nil, err
	}
	text, err := protojson.Marshal(out)
	if err != nil {
		a.t.Fatal(err)
	}
	var answer object
	if err := json.Unmarshal(text, &answer); err != nil {
		a.t.Fatal(err)
	}
	return answer, nil
}

func messageOf(t *testing.T, d protoreflect.MessageDescriptor) proto.Message {
	t.Helper()
	kind, err := protoregistry.GlobalTypes.FindMessageByName(d.FullName())
	if err != nil {
		t.Fatal(err)
	}
	return kind.New().Interface()
}

// ask wants an answer.
func (a asker) ask(service, method, format string, args ...any) object {
	a.t.Helper()
	answer, err := a.try(service, method, fmt.Sprintf(format, args...))
	if err != nil {
		a.t.Fatalf("%s %s: %v", method, fmt.Sprintf(format, args...), err)
	}
	return answer
}

// refuse wants a refusal with a code and a reason, and gives it.
func (a asker) refuse(code codes.Code, reason, service, method, format string, args ...any) *status.Status {
	a.t.Helper()
	answer, err := a.try(service, method, fmt.Sprintf(format, args...))
	st := status.Convert(err)
	if st.Code() != code || reasonIn(st) != reason {
		a.t.Fatalf("%s %s: %v %s (%v), want %v %s; answer %v", method, fmt.Sprintf(format, args...), st.Code(), reasonIn(st), st.Message(), code, reason, answer)
	}
	return st
}

func reasonIn(st *status.Status) string {
	for _, d := range st.Details() {
		if info, ok := d.(*errdetails.ErrorInfo); ok {
			return info.GetReason()
		}
	}
	return ""
}

// fieldsIn are the fields that a refusal names.
func fieldsIn(st *status.Status) (fields []string) {
	for _, d := range st.Details() {
		if bad, ok := d.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				fields = append(fields, v.GetField())
			}
		}
	}
	return fields
}

// Every kind of record keeps the same promises of the standard methods (AIP-131 to 135, 148, 154, 155, 158, 160, 163, 164).
func TestStandardMethods(t *testing.T) {
	for where, cfg := range map[string]service.Config{
		"memory": {Demo: true}, "file": {Demo: true, Store: filepath.Join(t.TempDir(), "shop.db")},
	} {
		a := askerOf(t, cfg)
		for _, k := range kept {
			t.Run(where+" "+k.collection, func(t *testing.T) {
				a := asker{t, a.conn}
				name := "shops/main/" + k.collection + "/bench"
				create := `{"parent":"shops/main","` + k.field + `Id":"bench","` + k.field + `":` + k.fresh + `,"requestId":"` + k.collection + `"}`
				dry := strings.Replace(create, `"requestId":"`+k.collection+`"`, `"validateOnly":true`, 1)
				a.ask(k.service, "Create"+k.one, "%s", dry)
				a.refuse(codes.NotFound, "NOT_FOUND", k.service, "Get"+k.one, `{"name":"%s"}`, name)

				made := a.ask(k.service, "Create"+k.one, "%s", create)
				if made["name"] != name || made["etag"] == "" || made["uid"] == "" || made["createTime"] == nil {
					t.Fatalf("made %v", made)
				}
				if again := a.ask(k.service, "Create"+k.one, "%s", create); again["uid"] != made["uid"] || again["etag"] != made["etag"] {
					t.Errorf("the same request id: %v, then %v", made, again)
				}
				a.refuse(codes.AlreadyExists, "REQUEST_ID_REUSED", k.service, "Create"+k.one, "%s", strings.Replace(create, `"bench"`, `"bench-2"`, 1))
				a.refuse(codes.AlreadyExists, "ID_TAKEN", k.service, "Create"+k.one, "%s", strings.Replace(create, `,"requestId":"`+k.collection+`"`, "", 1))

				update := `{"` + k.field + `":` + strings.Replace(k.change, "{", `{"name":"`+name+`","etag":"%s",`, 1) + `}`
				changed := a.ask(k.service, "Update"+k.one, update, made["etag"])
				if field, value, ok := strings.Cut(k.shown, "="); k.one != "Recipe" && ok && fmt.Sprint(changed[field]) != value || changed["etag"] == made["etag"] {
					t.Errorf("changed to %v", changed)
				}
				if changed["displayName"] != made["displayName"] {
					t.Errorf("the change took more than it said: %v", changed)
				}
				st := a.refuse(codes.Aborted, "ETAG_MISMATCH", k.service, "Update"+k.one, strings.Replace(update, `"etag":"%s",`, `"etag":"%s","displayName":"Other",`, 1), made["etag"])
				if c := conflictIn(st); c.GetEtag() != changed["etag"] || !slices.ContainsFunc(c.GetDifferences(), func(f *arrisv1.FieldChange) bool { return f.GetField() == "display_name" }) {
					t.Errorf("the conflict says %v", c)
				}
				if same := a.ask(k.service, "Update"+k.one, update, ""); same["etag"] != changed["etag"] {
					t.Errorf("nothing was changed and the etag is %v after %v", same["etag"], changed["etag"])
				}
				a.refuse(codes.InvalidArgument, "INVALID_FIELD", k.service, "Update"+k.one, `{"%s":{"name":"%s"},"updateMask":"sharpness"}`, k.field, name)

				page := a.ask(k.service, "List"+k.many, `{"parent":"shops/main","pageSize":1,"filter":"name >= \"%s\"","orderBy":"name"}`, name)
				if got := names(page); !slices.Equal(got, []string{name}) {
					t.Errorf("listed %v", got)
				}
				a.ask(k.service, "Create"+k.one, `{"parent":"shops/main","%sId":"bench-b","%s":%s}`, k.field, k.field, k.fresh)
				if got := names(a.ask(k.service, "List"+k.many, `{"parent":"shops/main","search":"bensh"}`)); !slices.Contains(got, name) {
					t.Errorf("searched for bensh: %v", got)
				}
				gone := a.ask(k.service, "Delete"+k.one, `{"name":"%s"}`, name)
				if gone["deleteTime"] == nil || a.ask(k.service, "Get"+k.one, `{"name":"%s"}`, name)["deleteTime"] == nil {
					t.Errorf("deleted: %v", gone)
				}
				if slices.Contains(names(a.ask(k.service, "List"+k.many, `{"parent":"shops/main"}`)), name) ||
					!slices.Contains(names(a.ask(k.service, "List"+k.many, `{"parent":"shops/main","showDeleted":true}`)), name) {
					t.Error("a deleted record is listed where it was not asked for, or not where it was")
				}
				a.refuse(codes.AlreadyExists, "ID_TAKEN", k.service, "Create"+k.one, `{"parent":"shops/main","%sId":"bench","%s":%s}`, k.field, k.field, k.fresh)
				a.refuse(codes.FailedPrecondition, "DELETED", k.service, "Update"+k.one, update, "")
				if back := a.ask(k.service, "Undelete"+k.one, `{"name":"%s"}`, name); back["deleteTime"] != nil || back["uid"] != made["uid"] {
					t.Errorf("brought back: %v", back)
				}
				a.refuse(codes.FailedPrecondition, "NOT_DELETED", k.service, "Undelete"+k.one, `{"name":"%s"}`, name)
				was := a.ask(k.service, "Get"+k.one, `{"name":"%s","asOfTime":"%s"}`, name, made["createTime"])
				if was["etag"] != made["etag"] {
					t.Errorf("as it was: %v, want %v", was, made)
				}
				a.refuse(codes.FailedPrecondition, "REFERENCE_MISSING", k.service, "Create"+k.one, `{"parent":"shops/nowhere","%s":%s}`, k.field, k.fresh)
				a.refuse(codes.InvalidArgument, "INVALID_FIELD", k.service, "Create"+k.one, `{"parent":"shops/main","%sId":"Bench","%s":%s}`, k.field, k.field, k.fresh)
				a.refuse(codes.InvalidArgument, "INVALID_FIELD", k.service, "List"+k.many, `{"parent":"shops/main","filter":"sharpness > 3"}`)
				if fresh := a.ask(k.service, "Update"+k.one, `{"%s":%s,"allowMissing":true}`, k.field, strings.Replace(k.fresh, "{", `{"name":"shops/main/`+k.collection+`/bench-c",`, 1)); fresh["etag"] != "1" {
					t.Errorf("kept new by an update: %v", fresh)
				}
			})
		}
	}
}

// names are those of the records in a list's answer.
func names(page object) (list []string) {
	for _, field := range slices.Sorted(maps.Keys(page)) {
		records, ok := page[field].([]any)
		if !ok {
			continue
		}
		for _, r := range records {
			list = append(list, r.(object)["name"].(string))
		}
	}
	return list
}

func conflictIn(st *status.Status) *arrisv1.Conflict {
	for _, d := range st.Details() {
		if c, ok := d.(*arrisv1.Conflict); ok {
			return c
		}
	}
	return nil
}

// A page's token goes on after the record it ended with, whatever is kept new or deleted meanwhile.
func TestPagesSurviveInserts(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	all := names(a.ask("ToolService", "ListTools", `{"parent":"shops/main"}`))
	var seen []string
	token := ""
	for i := 0; ; i++ {
		page := a.ask("ToolService", "ListTools", `{"parent":"shops/main","pageSize":3,"pageToken":"%s"}`, token)
		seen = append(seen, names(page)...)
		a.ask("ToolService", "CreateTool", `{"parent":"shops/main","toolId":"a-%d","tool":{}}`, i) // before all that were there
		next, _ := page["nextPageToken"].(string)
		if token = next; token == "" {
			break
		}
	}
	if !slices.Equal(seen, all) {
		t.Errorf("pages of %v\nhave %v", all, seen)
	}
	first := a.ask("ToolService", "ListTools", `{"parent":"shops/main","pageSize":1}`)
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "ListTools", `{"parent":"shops/main","filter":"kind = TOOL_KIND_SKEW","pageToken":"%s"}`, first["nextPageToken"])
}

// A recipe's name means its published revision; every save is readable for ever; two who edit one recipe lose nothing.
func TestRecipesHaveRevisions(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	const recipe = "shops/main/recipes/bowl-50"
	gap := func(name string) float64 {
		t.Helper()
		answer := a.ask("GrindService", "SolveSetup", `{"shop":"shops/main","recipe":"%s","rig":{"station":"shops/main/stations/north"}}`, name)
		step := answer["setup"].(object)["steps"].([]any)[0].(object)
		return step["support"].(object)["wheelGap"].(object)["exactMm"].(float64)
	}
	before := gap(recipe)
	first := a.ask("RecipeService", "GetRecipe", `{"name":"%s"}`, recipe)
	saved := a.ask("RecipeService", "UpdateRecipe", `{"recipe":{"name":"%s","etag":"%s","grind":{"bevels":[{"frontAngleDeg":52}]}}}`, recipe, first["etag"])
	if saved["revision"] != 1.0 || saved["newestRevision"] != 2.0 || saved["publishedRevision"] != 1.0 {
		t.Errorf("a save makes %v", saved)
	}
	if gap(recipe) != before || gap(recipe+"/revisions/2") == before {
		t.Error("a draft is used where it is not named, or not where it is")
	}
	st := a.refuse(codes.Aborted, "ETAG_MISMATCH", "RecipeService", "UpdateRecipe", `{"recipe":{"name":"%s","etag":"%s","notes":"mine"}}`, recipe, first["etag"])
	if c := conflictIn(st); len(c.GetDifferences()) != 1 || c.GetDifferences()[0].GetField() != "notes" || c.GetDifferences()[0].GetAfter() != `"mine"` {
		t.Errorf("the second to save is told %v", c)
	}
	published := a.ask("RecipeService", "PublishRecipe", `{"name":"%s"}`, recipe)
	if published["revision"] != 2.0 || published["state"] != "RECIPE_STATE_PUBLISHED" || gap(recipe) == before {
		t.Errorf("published: %v", published)
	}
	if old := a.ask("RecipeService", "GetRecipeRevision", `{"name":"%s/revisions/1"}`, recipe); old["state"] != "RECIPE_STATE_SUPERSEDED" {
		t.Errorf("the former revision: %v", old)
	}
	difference := a.ask("RecipeService", "CompareRecipeRevisions", `{"name":"%s","fromRevision":1,"toRevision":2}`, recipe)["differences"].([]any)
	if got := fmt.Sprint(difference); got != "[map[after:52 before:50 field:grind.bevels[0].front_angle_deg]]" {
		t.Errorf("1 and 2 differ by %v", got)
	}
	back := a.ask("RecipeService", "RollBackRecipe", `{"name":"%s","revision":1}`, recipe)
	if back["revision"] != 3.0 || gap(recipe) != before {
		t.Errorf("rolled back: %v", back)
	}
	if list := names(a.ask("RecipeService", "ListRecipeRevisions", `{"parent":"%s"}`, recipe)); !slices.Equal(list, []string{recipe + "/revisions/3", recipe + "/revisions/2", recipe + "/revisions/1"}) {
		t.Errorf("revisions %v", list)
	}
	a.refuse(codes.NotFound, "NOT_FOUND", "RecipeService", "PublishRecipe", `{"name":"%s","revision":9}`, recipe)
}

// What refers to something, refers to what is there; and what is referred to stays.
func TestReferences(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	st := a.refuse(codes.FailedPrecondition, "STILL_USED", "ToolService", "DeleteHolder", `{"name":"shops/main/holders/swing"}`)
	if !strings.Contains(st.Message(), "shops/main/recipes/bowl-50") {
		t.Errorf("it does not say by what: %s", st.Message())
	}
	a.refuse(codes.FailedPrecondition, "REFERENCE_MISSING", "ToolService", "CreateTool", `{"parent":"shops/main","tool":{"recipe":"shops/main/recipes/none"}}`)
	a.ask("ShopService", "CreateShop", `{"shopId":"other","shop":{"displayName":"Other"}}`)
	a.refuse(codes.FailedPrecondition, "REFERENCE_MISSING", "ToolService", "CreateTool", `{"parent":"shops/other","tool":{"recipe":"shops/main/recipes/bowl-50"}}`)
	a.ask("WheelService", "DeleteWheel", `{"name":"shops/main/wheels/spare-coarse"}`)
	a.refuse(codes.FailedPrecondition, "DELETED", "WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/spare-coarse","wheelMeasurement":{"diameterMm":199}}`)
	a.ask("ToolService", "CreateTool", `{"parent":"shops/main","tool":{"externalIds":[{"system":"inventory","value":"T-17"}]}}`)
	a.refuse(codes.AlreadyExists, "EXTERNAL_ID_TAKEN", "ToolService", "CreateTool", `{"parent":"shops/main","tool":{"externalIds":[{"system":"inventory","value":"T-17"}]}}`)
	// What another system calls a record finds it.
	const called = `{"parent":"shops/main","filter":"external_id = \"%s\""}`
	if got := names(a.ask("ToolService", "ListTools", called, "inventory:T-17")); len(got) != 1 {
		t.Errorf("called T-17: %v", got)
	}
	if got := names(a.ask("WheelService", "ListWheels", called, "inventory:T-17")); len(got) != 0 {
		t.Errorf("wheels called T-17: %v", got)
	}
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "ListTools", called, "T-17")
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "ListTools", `{"parent":"shops/main","filter":"external_id > \"inventory:T\""}`)
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "ListTools", `{"parent":"shops/main","orderBy":"external_id"}`)
	// Of a batch all are kept or none.
	a.refuse(codes.AlreadyExists, "ID_TAKEN", "ToolService", "BatchCreateTools", `{"parent":"shops/main","requests":[{"parent":"shops/main","toolId":"new-1","tool":{}},{"parent":"shops/main","toolId":"skew-25","tool":{}}]}`)
	a.refuse(codes.NotFound, "NOT_FOUND", "ToolService", "GetTool", `{"name":"shops/main/tools/new-1"}`)
	// Its requests need not say its parent again, may not say another, and are told all that is wrong with all of them.
	made := a.ask("ToolService", "BatchCreateTools", `{"parent":"shops/main","requests":[{"tool":{}},{"tool":{}}]}`)
	if list, _ := made["tools"].([]any); len(list) != 2 {
		t.Errorf("made %v", made)
	}
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "BatchCreateTools", `{"parent":"shops/main","requests":[{"parent":"shops/other","tool":{}}]}`)
	st = a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ToolService", "BatchCreateTools",
		`{"parent":"shops/main","requests":[{"tool":{"bladeThicknessMm":-1}},{"tool":{}},{"toolId":"No"}]}`)
	if got, want := fieldsIn(st), []string{"requests[0].tool.blade_thickness_mm", "requests[2].tool_id", "requests[2].tool"}; !slices.Equal(got, want) {
		t.Errorf("wrong are %q, want %q", got, want)
	}
}

// A log's entries complete themselves, and put what they say where it belongs.
func TestSharpeningsAreKept(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	entry := a.ask("SharpeningService", "CreateSharpening", `{"parent":"shops/main","requestId":"phone-1","sharpening":{"kind":"SHARPENING_KIND_REGRIND",
		"tool":"shops/main/tools/bowl-gouge-12","recipe":"shops/main/recipes/bowl-50","station":"shops/main/stations/north","overallLengthMm":421,
		"occurTime":"2026-11-20T09:00:00Z"}}`)
	if entry["recipe"] != "shops/main/recipes/bowl-50/revisions/1" || entry["wheel"] != "shops/main/wheels/north-fine" || entry["wheelDiameterMm"] != 200.0 ||
		entry["occurTime"] != "2026-11-20T09:00:00Z" || entry["engineVersion"] == "" {
		t.Errorf("kept %v", entry)
	}
	if tool := a.ask("ToolService", "GetTool", `{"name":"shops/main/tools/bowl-gouge-12"}`); tool["overallLengthMm"] != 421.0 {
		t.Errorf("the tool's length is %v", tool["overallLengthMm"])
	}
	a.refuse(codes.FailedPrecondition, "REFERENCE_MISSING", "SharpeningService", "CreateSharpening", `{"parent":"shops/main","sharpening":{"kind":"SHARPENING_KIND_HONE","corrects":"shops/main/sharpenings/none"}}`)
	a.ask("SharpeningService", "CreateSharpening", `{"parent":"shops/main","sharpening":{"kind":"SHARPENING_KIND_HONE","corrects":"%s"}}`, entry["name"])
	list := names(a.ask("SharpeningService", "ListSharpenings", `{"parent":"shops/main","filter":"tool = \"shops/main/tools/bowl-gouge-12\" AND occur_time < \"2026-11-21T00:00:00Z\""}`))
	if !slices.Equal(list, []string{entry["name"].(string)}) {
		t.Errorf("listed %v", list)
	}
	a.ask("ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":"shops/main/stations/north","finding":"INSPECTION_FINDING_ATTENTION","notes":"lamp"}}`)
	a.refuse(codes.FailedPrecondition, "REFERENCE_MISSING", "ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":"shops/main/stations/none","finding":"INSPECTION_FINDING_SOUND"}}`)
}

// solved is a solved set-up's basis and cautions' codes.
func (a asker) solved(station string) (basis object, cautions []string) {
	a.t.Helper()
	setup := a.ask("GrindService", "SolveSetup", `{"shop":"shops/main","recipe":"shops/main/recipes/bowl-50","rig":{"station":"shops/main/stations/%s"}}`, station)["setup"].(object)
	for _, c := range setup["cautions"].([]any) {
		cautions = append(cautions, c.(object)["code"].(string)+" "+c.(object)["severity"].(string))
	}
	return setup["basis"].(object), cautions
}

// No wheel grows: a diameter that it did not have when it was new is a slip, however it was measured. One that is called by a round size may
// have a little more: 8 in are 203.2 mm and go by 200.
func TestWheelsDoNotGrow(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	const wheel = "shops/main/wheels/south-white" // 200 mm when it was new
	for field, value := range map[string]float64{"diameterMm": 218.4, "aroundMm": 690} {
		st := a.refuse(codes.InvalidArgument, "INVALID_FIELD", "WheelService", "CreateWheelMeasurement", `{"parent":"%s","wheelMeasurement":{"%s":%g}}`, wheel, field, value)
		if !strings.Contains(st.Message(), "where it had 200.0 mm when it was new") {
			t.Error(st.Message())
		}
	}
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "WheelService", "CreateWheel", `{"parent":"shops/main","wheelId":"large","wheel":{"diameterMm":205,"newDiameterMm":200}}`)
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "WheelService", "UpdateWheel", `{"wheel":{"name":"%s","diameterMm":205},"updateMask":"diameterMm"}`, wheel)
	a.ask("WheelService", "CreateWheel", `{"parent":"shops/main","wheelId":"eight-inch","wheel":{"diameterMm":203.2,"newDiameterMm":200}}`)
	a.ask("WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/eight-inch","wheelMeasurement":{"diameterMm":203.1}}`)
}

// The "Wear" scenario: a strip of 588.7 around the wheel is Ø187.4; dressed and not measured, answers carry their doubt until it is; a locked
// station says stop; another wheel takes the place of the one before. (588.7/π = 187.389.)
func TestWheelsAreBelievedAsMeasured(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	a.ask("WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/south-white","wheelMeasurement":{"aroundMm":588.7}}`)
	basis, cautions := a.solved("south")
	if d := basis["wheelDiameterMm"].(float64); d < 187.38 || d > 187.40 || basis["staleByDeg"] != nil || slices.ContainsFunc(cautions, func(c string) bool { return strings.HasPrefix(c, "WHEEL_STALE") }) {
		t.Errorf("measured: %v %v", basis, cautions)
	}
	a.ask("WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/south-white","wheelMeasurement":{"dressed":true}}`)
	if basis, cautions = a.solved("south"); basis["staleByDeg"] == nil || !slices.Contains(cautions, "WHEEL_STALE SEVERITY_WARNING") {
		t.Errorf("dressed: %v %v", basis, cautions)
	}
	a.ask("WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/south-white","wheelMeasurement":{"diameterMm":186.9}}`)
	if basis, cautions = a.solved("south"); basis["staleByDeg"] != nil || basis["wheelDiameterMm"] != 186.9 {
		t.Errorf("measured again: %v %v", basis, cautions)
	}
	a.ask("ShopService", "LockStation", `{"name":"shops/main/stations/south","lockReason":"guard loose"}`)
	if _, cautions = a.solved("south"); cautions[0] != "STATION_LOCKED SEVERITY_STOP" {
		t.Errorf("locked: %v", cautions)
	}
	a.ask("ShopService", "UpdateStation", `{"station":{"name":"shops/main/stations/south","state":"STATION_STATE_IN_SERVICE"},"updateMask":"state"}`)
	if _, cautions = a.solved("south"); cautions[0] != "STATION_LOCKED SEVERITY_STOP" {
		t.Error("an ordinary update took the lock off")
	}
	seen := a.ask("ShopService", "GetStation", `{"name":"shops/main/stations/south"}`)["etag"]
	a.ask("ShopService", "LockStation", `{"name":"shops/main/stations/south","lockReason":"belt slips"}`)
	a.refuse(codes.Aborted, "ETAG_MISMATCH", "ShopService", "UnlockStation", `{"name":"shops/main/stations/south","unlockReason":"guard fixed","etag":%q}`, seen)
	if _, cautions = a.solved("south"); cautions[0] != "STATION_LOCKED SEVERITY_STOP" {
		t.Error("released by somebody who had not seen why it was locked anew")
	}
	a.ask("ShopService", "UnlockStation", `{"name":"shops/main/stations/south","unlockReason":"guard and belt fixed"}`)
	if _, cautions = a.solved("south"); slices.Contains(cautions, "STATION_LOCKED SEVERITY_STOP") {
		t.Errorf("unlocked: %v", cautions)
	}
	mounted := a.ask("WheelService", "MountWheel", `{"name":"shops/main/wheels/spare-coarse","station":"shops/main/stations/south"}`)
	if mounted["replaced"].(object)["name"] != "shops/main/wheels/south-white" {
		t.Errorf("mounted: %v", mounted)
	}
	if basis, _ = a.solved("south"); basis["wheel"] != "shops/main/wheels/spare-coarse" {
		t.Errorf("after the change of wheels: %v", basis)
	}
}

// A clock that was never set, or runs far ahead, would put what it tells before or after all that really happened.
func TestClocksThatAreWrong(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	ahead := time.Now().AddDate(0, 0, 2).UTC().Format(time.RFC3339)
	for _, at := range []string{"1970-01-01T00:00:00Z", ahead, "2199-01-01T00:00:00Z"} {
		st := a.refuse(codes.InvalidArgument, "INVALID_FIELD", "WheelService", "CreateWheelMeasurement", `{"parent":"shops/main/wheels/south-white","wheelMeasurement":{"diameterMm":186,"occurTime":"%s"}}`, at)
		if !strings.Contains(st.Message(), "is "+at) {
			t.Errorf("it does not say what was told: %s", st.Message())
		}
		a.refuse(codes.InvalidArgument, "INVALID_FIELD", "SharpeningService", "CreateSharpening", `{"parent":"shops/main","sharpening":{"kind":"SHARPENING_KIND_HONE","occurTime":"%s"}}`, at)
		a.refuse(codes.InvalidArgument, "INVALID_FIELD", "ShopService", "CreateInspection", `{"parent":"shops/main","inspection":{"subject":"shops/main/stations/north","finding":"INSPECTION_FINDING_SOUND","occurTime":"%s"}}`, at)
	}
	a.refuse(codes.InvalidArgument, "INVALID_FIELD", "WheelService", "UpdateWheel", `{"wheel":{"name":"shops/main/wheels/south-white","measureTime":"%s"}}`, ahead)
	if basis, _ := a.solved("south"); basis["wheelDiameterMm"] != 187.4 {
		t.Errorf("a refused measurement counts: %v", basis)
	}
}

// Diameters of 200.0, 198.2, 196.7, 194.6, 193.0 and 191.2 on days 0, 31, 60, 92, 123 and 150 give a forecast with a range. The line through
// them, by the textbook's sums: −0.0588 mm a day; 30 days on 189.47.
func TestWearIsForecast(t *testing.T) {
	a := askerOf(t, service.Config{Demo: true})
	start := time.Now().UTC().Truncate(24*time.Hour).AddDate(0, 0, -150)
	on := func(day int) string { return start.AddDate(0, 0, day).Format(time.RFC3339) }
	const wheel = "shops/main/wheels/worn"
	a.ask("WheelService", "CreateWheel", `{"parent":"shops/main","wheelId":"worn","wheel":{"diameterMm":200,"measureTime":"%s","smallestDiameterMm":150,"abrasive":"ABRASIVE_KIND_BONDED"}}`, on(0))
	a.refuse(codes.FailedPrecondition, "TOO_FEW_MEASUREMENTS", "WheelService", "ForecastWear", `{"name":"%s"}`, wheel)
	days, diameters := []int{0, 31, 60, 92, 123, 150}, []float64{200, 198.2, 196.7, 194.6, 193, 191.2}
	for i := 1; i < len(days); i++ {
		a.ask("WheelService", "CreateWheelMeasurement", `{"parent":"%s","wheelMeasurement":{"diameterMm":%g,"occurTime":"%s"}}`, wheel, diameters[i], on(days[i]))
	}
	a.ask("WheelService", "MountWheel", `{"name":"%s","station":"shops/main/stations/south"}`, wheel)
	f := a.ask("WheelService", "ForecastWear", `{"name":"%s","forecastTime":"%s"}`, wheel, on(180))
	slope, value := textbookLine(days, diameters, 180)
	if got := f["rateMmPerDay"].(float64); got < -slope-1e-9 || got > -slope+1e-9 {
		t.Errorf("rate %v, want %v", got, -slope)
	}
	if got := f["diameterMm"].(float64); got < value-1e-6 || got > value+1e-6 || f["leastDiameterMm"].(float64) >= got || f["mostDiameterMm"].(float64) <= got {
		t.Errorf("%v where %v is foreseen", f, value)
	}
	if f["wears"] != true || f["measurementsCount"] != 6.0 || f["smallestTime"] == nil {
		t.Errorf("%v", f)
	}
	worn := f["recipes"].([]any)
	if len(worn) == 0 || worn[0].(object)["measureTime"] == nil || worn[0].(object)["limitTime"] == nil {
		t.Errorf("recipes: %v", worn)
	}
	// Left in its place, a worn wheel makes bowl-50 blunter; half a year on, the record is out of its tolerance.
	for _, r := range worn {
		if r := r.(object); r["recipe"] == "shops/main/recipes/bowl-50" && r["driftDegPerMm"].(float64) <= 0 {
			t.Errorf("behind a locked pocket wear makes edges blunter: %v", r)
		}
	}
}

// textbookLine is the least-squares line by its sums, and its value at x.
func textbookLine(xs []int, ys []float64, at float64) (slope, value float64) {
	var n, sx, sy, sxx, sxy float64
	for i, y := range ys {
		x := float64(xs[i])
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	slope = (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return slope, sy/n + slope*(at-sx/n)
}

// Every method takes callers with its own role and those above, and refuses those below.
func TestEveryMethodHasItsRole(t *testing.T) {
	for role := arrisv1.Role_ROLE_VIEWER; role <= arrisv1.Role_ROLE_OWNER; role++ {
		a := askerOf(t, service.Config{Demo: true, Role: role})
		count := 0
		protoregistry.GlobalFiles.RangeFilesByPackage("arris.v1", func(file protoreflect.FileDescriptor) bool {
			for i := range file.Services().Len() {
				methods := file.Services().Get(i).Methods()
				for j := range methods.Len() {
					m := methods.Get(j)
					if m.IsStreamingClient() {
						continue
					}
					count++
					needs := proto.GetExtension(m.Options(), arrisv1.E_Role).(arrisv1.Role)
					_, err := a.try(string(file.Services().Get(i).Name()), string(m.Name()), `{}`)
					if denied := status.Code(err) == codes.PermissionDenied; denied != (needs > role) {
						t.Errorf("%s for %s needs %s: %v", m.FullName(), role, needs, err)
					}
				}
			}
			return true
		})
		if count < 60 {
			t.Errorf("only %d methods were tried", count)
		}
	}
}
