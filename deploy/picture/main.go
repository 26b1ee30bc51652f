// Command picture renders a finished gouge as PNG: `go run ./deploy/picture > deploy/pictures/gouge.png`. It is plain software drawing, the
// same on every machine, and reads a body the way a viewer of its file would: triangles with the normals of their corners.
package main

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"

	"arris.example/geometry"
	"arris.example/geometry/flute"
	"arris.example/geometry/solid"
	"arris.example/geometry/space"
	"arris.example/geometry/swung"
	"arris.example/geometry/unit"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "picture:", err)
		os.Exit(1)
	}
}

func run() error {
	img, err := picture()
	if err != nil {
		return err
	}
	return (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(os.Stdout, img)
}

func picture() (image.Image, error) {
	m, err := solid.Build(gouge(), 40_000)
	if err != nil {
		return nil, err
	}
	return draw(m, view{
		width: 900, height: 520, eye: space.Vec{Back: -1, Up: 0.75, Side: 0.9}, look: space.Vec{Back: 14}, scale: 21,
	}), nil
}

// gouge is one with a parabolic edge and one bevel.
func gouge() solid.Tool {
	section, bar := flute.Parabola(4), flute.RoundBar(15, 6)
	rim, _ := bar.Rim(section)
	g := swung.AtNose(geometry.RoundWheel(200), geometry.Pivot{Behind: 105, Below: 60}, 50*unit.Degree)
	return solid.Tool{
		Bar: bar, Edge: swung.Even(section, swung.Setback{Setback: 12, Reach: rim, Exponent: 2}, rim), Behind: 40,
		Bevels: []swung.Bevel{{Setting: g}},
	}
}

// view is a parallel projection.
type view struct {
	width, height int
	eye           space.Vec // direction towards who looks
	look          space.Vec // in the middle of the picture
	scale         float64   // pixels per mm
}

// finer is how many samples a pixel has each way.
const finer = 3

// samples are a picture before it is averaged.
type samples struct {
	width, height int
	depth         []float64
	shade         []space.Vec // red, green, blue
}

func draw(m solid.Mesh, v view) image.Image {
	s := samples{width: v.width * finer, height: v.height * finer}
	s.depth, s.shade = make([]float64, s.width*s.height), make([]space.Vec, s.width*s.height)
	for i := range s.depth {
		s.depth[i], s.shade[i] = math.Inf(-1), space.Vec{Back: 1, Up: 1, Side: 1}
	}
	towards := v.eye.Dir()
	right := space.Up.Cross(towards).Dir()
	up := towards.Cross(right)
	for _, p := range m.Patches {
		at := make([]corner, len(p.Vertices))
		for i, w := range p.Vertices {
			from := m.Positions[w.Position].Minus(v.look)
			k := v.scale * finer
			at[i] = corner{
				x: float64(s.width)/2 + k*from.Dot(right), y: float64(s.height)/2 - k*from.Dot(up), depth: from.Dot(towards),
				normal: space.Vec{Back: w.Normal.Dot(right), Up: w.Normal.Dot(up), Side: w.Normal.Dot(towards)},
			}
		}
		for _, f := range p.Faces {
			s.triangle(p.Surface, at[f[0]], at[f[1]], at[f[2]])
		}
	}
	return s.averaged()
}

// corner is a vertex as it is seen.
type corner struct {
	x, y, depth float64
	normal      space.Vec // to the right, up, towards the eye
}

// triangle fills what is nearer than what is there.
func (s *samples) triangle(surface solid.Surface, a, b, c corner) {
	area := (b.x-a.x)*(c.y-a.y) - (c.x-a.x)*(b.y-a.y)
	if area == 0 {
		return
	}
	for y := max(0, int(min(a.y, b.y, c.y))); y <= min(s.height-1, int(max(a.y, b.y, c.y))+1); y++ {
		py := float64(y) + 0.5
		from, to := span(py, a, b, c)
		for x := int(max(0, min(from, float64(s.width)))); x <= min(s.width-1, int(min(to, float64(s.width)))+1); x++ {
			px := float64(x) + 0.5
			v := ((px-a.x)*(c.y-a.y) - (c.x-a.x)*(py-a.y)) / area
			w := ((b.x-a.x)*(py-a.y) - (px-a.x)*(b.y-a.y)) / area
			u := 1 - v - w
			depth := u*a.depth + v*b.depth + w*c.depth
			if i := y*s.width + x; u >= 0 && v >= 0 && w >= 0 && depth > s.depth[i] {
				s.depth[i] = depth
				s.shade[i] = shade(surface, a.normal.Times(u).Plus(b.normal.Times(v)).Plus(c.normal.Times(w)).Dir())
			}
		}
	}
}

// span is how far a triangle reaches on a line across the picture; from is above to where it does not.
func span(y float64, a, b, c corner) (from, to float64) {
	from, to = math.Inf(1), -1
	for _, side := range [][2]corner{{a, b}, {b, c}, {c, a}} {
		p, q := side[0], side[1]
		if (p.y < y) != (q.y < y) {
			x := p.x + (q.x-p.x)*(y-p.y)/(q.y-p.y)
			from, to = min(from, x), max(to, x)
		}
	}
	return from, to
}

// steel is how bright the surfaces are.
var steel = [...]float64{solid.Ground: 1, solid.Outside: 0.66, solid.Cut: 0.5, solid.Flute: 0.8}

// shade is a light from above on the left, a weaker one from below on the right, and a soft shine.
func shade(surface solid.Surface, n space.Vec) space.Vec {
	main, fill := space.Vec{Back: -0.5, Up: 0.6, Side: 0.6}.Dir(), space.Vec{Back: 0.5, Up: -0.5, Side: 0.7}.Dir()
	half := main.Plus(space.Vec{Side: 1}).Dir()
	bright := steel[surface]*(0.22+0.5*max(0, n.Dot(main))+0.4*max(0, n.Dot(fill))) + 0.15*math.Pow(max(0, n.Dot(half)), 24)
	return space.Vec{Back: bright * 0.97, Up: bright * 0.985, Side: bright}
}

// averaged is the picture.
func (s *samples) averaged() image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, s.width/finer, s.height/finer))
	for y := range s.height / finer {
		for x := range s.width / finer {
			var sum space.Vec
			for i := range finer * finer {
				sum = sum.Plus(s.shade[(y*finer+i/finer)*s.width+x*finer+i%finer])
			}
			sum = sum.Times(1.0 / (finer * finer))
			img.SetNRGBA(x, y, color.NRGBA{level(sum.Back), level(sum.Up), level(sum.Side), 255})
		}
	}
	return img
}

func level(bright float64) uint8 { return uint8(255*min(1, max(0, bright)) + 0.5) }
