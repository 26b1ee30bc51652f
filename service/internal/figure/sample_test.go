package figure

import (
	"fmt"
	"testing"

	"arris.example/geometry"
	"arris.example/geometry/drawing"
	"arris.example/geometry/unit"
	arrisv1 "arris.example/proto/arris/v1"
)

// wire is a figure as clients get it.
func wire(f drawing.Figure) *arrisv1.Figure {
	point := func(p geometry.Point) *arrisv1.FigurePoint {
		return &arrisv1.FigurePoint{OutMm: float64(p.Out), UpMm: float64(p.Up)}
	}
	w := &arrisv1.Figure{Least: point(f.Least), Most: point(f.Most), Description: f.Description}
	for _, item := range f.Items {
		i := &arrisv1.FigureItem{Part: item.Part, Role: arrisv1.FigureRole(item.Role)}
		switch s := item.Shape.(type) {
		case drawing.Path:
			path := &arrisv1.FigurePath{Closed: s.Closed}
			for _, p := range s.Points {
				path.Points = append(path.Points, point(p))
			}
			i.Shape = &arrisv1.FigureItem_Path{Path: path}
		case drawing.Arc:
			i.Shape = &arrisv1.FigureItem_Arc{Arc: &arrisv1.FigureArc{
				Centre: point(s.Centre), RadiusMm: float64(s.Radius), StartDeg: s.Start.Degrees(), SweepDeg: s.Sweep.Degrees()}}
		case drawing.Text:
			i.Shape = &arrisv1.FigureItem_Text{Text: &arrisv1.FigureText{At: point(s.At), Text: s.Text}}
		case drawing.Dimension:
			i.Shape = &arrisv1.FigureItem_Dimension{Dimension: &arrisv1.FigureDimension{
				From: point(s.From), To: point(s.To), OffsetMm: float64(s.Offset), Text: s.Text}}
		case drawing.Angle:
			i.Shape = &arrisv1.FigureItem_Angle{Angle: &arrisv1.FigureAngle{
				Apex: point(s.Apex), RadiusMm: float64(s.Radius), StartDeg: s.Start.Degrees(), SweepDeg: s.Sweep.Degrees(), Text: s.Text}}
		}
		w.Items = append(w.Items, i)
	}
	return w
}

func mm(l unit.Length) string { return fmt.Sprintf("%.1f mm", float64(l)) }
func deg(a unit.Angle) string { return fmt.Sprintf("%.1f°", a.Degrees()) }

// onPivot solves a view whose pivot is held: it places the support if the slide does not, and words the usual labels.
func onPivot(t testing.TB, v View) View {
	t.Helper()
	gap := v.Wheel.Gap(v.Pivot, v.EdgeAngle)
	switch slide := v.Support.Slide; {
	case slide != nil:
		_, reading, ok := slide.Readings(v.Wheel, gap)
		if !ok {
			t.Fatal("the slide does not reach")
		}
		v.Support.At = slide.At(reading)
		v.Labels.Slide = "slide " + mm(reading)
	default:
		v.Supposed, v.Support.At = true, PlaceSupport(v.Wheel, v.Pivot, v.EdgeAngle, gap)
	}
	v.Pose = v.Wheel.Pose(v.Pivot, v.EdgeAngle, v.Support.At)
	v.Labels.WheelGap = fmt.Sprintf("wheel gap %.2f mm", float64(gap-v.Support.Near))
	return common(t, v)
}

// onPlatform solves a view whose tool lies at a tilt.
func onPlatform(t testing.TB, v View, tilt unit.Angle) View {
	t.Helper()
	v.Support.Kind = Platform
	v.Pose = v.Wheel.PoseOnPlatform(v.EdgeAngle, tilt, 0)
	v.Labels.PlatformTilt = "platform tilt " + deg(tilt)
	if !v.Wheel.Flat() {
		v.Labels.LineToAxle = "reference line to axle " + mm(v.Wheel.LineFor(v.EdgeAngle))
	}
	return common(t, v)
}

func common(t testing.TB, v View) View {
	t.Helper()
	bevel, err := v.Wheel.HollowOfDepth(v.EdgeAngle, v.SteelDepth)
	if err != nil {
		t.Fatal(err)
	}
	if v.Bevel.Chord == 0 {
		v.Bevel = bevel
	}
	v.Labels.EdgeAngle = "edge angle " + deg(v.EdgeAngle)
	v.Labels.BevelReading = "bevel reading " + deg(v.Bevel.Reading)
	if v.StickOut > 0 {
		v.Labels.StickOut = "stick-out " + mm(v.StickOut)
	}
	if v.Holder == Swing {
		v.Labels.LegAngle = "leg " + deg(v.LegAngle)
	}
	if v.Wheel.Flat() {
		v.Labels.Wheel = "disc"
	} else {
		v.Labels.Wheel = "wheel Ø" + mm(v.Wheel.Diameter())
	}
	return v
}

// swingHolder is the reference shop's.
var swingHolder = geometry.SwingHolder{JointBehindFace: 22, JointBelowAxis: 9, Leg: 74}

func swung(v View, stickOut unit.Length, leg unit.Angle) View {
	v.Holder, v.StickOut, v.LegAngle = Swing, stickOut, leg
	v.JointBehindFace, v.JointBelowAxis = swingHolder.JointBehindFace, swingHolder.JointBelowAxis
	v.Pivot = swingHolder.Pivot(stickOut, leg)
	return v
}

func bowl50(t testing.TB) View {
	v := swung(View{Wheel: geometry.RoundWheel(200), EdgeAngle: 50 * unit.Degree, SteelDepth: 8}, 45, 30*unit.Degree)
	v.Support = Support{Kind: Pocket, Slide: &geometry.Slide{Origin: geometry.Point{Up: -110}}}
	return onPivot(t, v)
}

// samples are set-ups of every kind.
func samples(t testing.TB) map[string]View {
	all := map[string]View{"bowl-50": bowl50(t)}

	v := bowl50(t)
	v.Support.Near, v.Support.Slide, v.Bevel, v.Behind, v.Labels.Slide = -7.07, nil, geometry.Hollow{}, nil, ""
	v.Bevel, _ = v.Wheel.HollowOfChord(v.EdgeAngle, 3)
	relief, _ := v.Wheel.HollowOfChord(35*unit.Degree, 10)
	v.Behind = []geometry.Hollow{relief}
	all["bowl-50-land-v-pocket"] = onPivot(t, v)

	v = View{Wheel: geometry.RoundWheel(200), EdgeAngle: 75 * unit.Degree, SteelDepth: 6}
	all["scraper-platform"] = onPlatform(t, v, -5*unit.Degree)

	v = View{Wheel: geometry.RoundWheel(200), EdgeAngle: 18 * unit.Degree, SteelDepth: 4, SteelAbove: 4}
	v.Support.Hinge = &geometry.Point{Out: 118, Up: 20}
	all["skew-platform"] = onPlatform(t, v, -38*unit.Degree)

	v = View{Wheel: geometry.RoundWheel(200), EdgeAngle: 45 * unit.Degree, SteelDepth: 6, Holder: Butted, StickOut: 430}
	v.Pivot = geometry.Pivot{Behind: 430}
	v.Support = Support{Kind: Pocket}
	all["roughing-butted"] = onPivot(t, v)
	d := all["roughing-butted"]
	d.Labels.WheelGap, d.Labels.PivotToAxle = "", "pivot to axle 505.7 mm"
	all["roughing-butted-axle"] = d

	v = View{Wheel: geometry.RoundWheel(200), EdgeAngle: 35 * unit.Degree, SteelDepth: 7, Holder: Clamp, StickOut: 60}
	v.Pivot = geometry.Pivot{Behind: 75, Below: 20}
	v.Support = Support{Kind: Bar, Diameter: 12, Near: 6, Far: 6, Top: 6}
	all["clamp-bar"] = onPivot(t, v)
	d = all["clamp-bar"]
	d.Support.Floor = -150
	d.Labels.Height = "height " + mm(d.Support.At.Up+6+150)
	d.Labels.FaceDistance = "face distance " + mm(d.Support.At.Out-6-100)
	d.Labels.WheelGap = ""
	all["clamp-bar-height"] = d

	v = View{EdgeAngle: 40 * unit.Degree, SteelDepth: 8}
	all["disc-platform"] = onPlatform(t, v, geometry.FlatTilt(v.EdgeAngle))

	v = swung(View{EdgeAngle: 45 * unit.Degree, SteelDepth: 8}, 45, 30*unit.Degree)
	v.Support = Support{Kind: Pocket}
	all["disc-swing"] = onPivot(t, v)

	v = View{Wheel: geometry.RoundWheel(150), EdgeAngle: 55 * unit.Degree, SteelDepth: 8, Holder: BarePivot}
	v.Pivot = geometry.Pivot{Behind: 105, Below: 75}
	all["bare"] = onPivot(t, v)

	v = swung(View{Wheel: geometry.RoundWheel(150), EdgeAngle: 25 * unit.Degree, SteelDepth: 6}, 50, 60*unit.Degree)
	v.Support = Support{Kind: Pocket}
	all["keen-swing"] = onPivot(t, v)
	v = swung(View{Wheel: geometry.RoundWheel(250), EdgeAngle: 80 * unit.Degree, SteelDepth: 9}, 30, 0)
	v.Support = Support{Kind: Pocket}
	all["steep-swing"] = onPivot(t, v)
	v = View{Wheel: geometry.RoundWheel(200), EdgeAngle: 50 * unit.Degree, SteelDepth: 5, SteelAbove: 3, Holder: NoHolder}
	v.UpperBevel, _ = v.Wheel.HollowOfDepth(20*unit.Degree, 3)
	d = onPlatform(t, v, 4*unit.Degree)
	d.Labels.LineToAxle, d.Labels.PlatformToAxle, d.Labels.RestGap = "", "platform to axle 59.3 mm", "rest gap 2 mm"
	all["negative-rake"] = d
	return all
}
