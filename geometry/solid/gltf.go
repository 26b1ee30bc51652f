package solid

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"

	"arris.example/geometry/space"
)

// GLTF is the mesh as binary glTF 2.0 (ISO/IEC 12113): metres, y up, every patch a primitive with a material of its own. Ground faces carry the
// wedge angle at their column in degrees as the attribute _WEDGE, and as TEXCOORD_0 the millimetres along the flute and the share of the way
// down the bevel, so that lines of one u run as the wheel does. The same mesh gives the same bytes.
func (m Mesh) GLTF() []byte {
	var g writer
	for _, p := range m.Patches {
		g.patch(m, p)
	}
	g.doc.Asset = asset{Version: "2.0", Generator: "arris"}
	g.doc.Scenes, g.doc.Nodes = []scene{{Nodes: []int{0}}}, []node{{Name: "tool", Mesh: 0}}
	g.doc.Meshes = []mesh{{Name: "tool", Primitives: g.primitives}}
	g.doc.Materials = materials
	g.doc.Buffers = []buffer{{Length: g.body.Len()}}
	return g.file()
}

// The parts of a document that are written, by their names in the standard.
type (
	document struct {
		Asset     asset      `json:"asset"`
		Scene     int        `json:"scene"`
		Scenes    []scene    `json:"scenes"`
		Nodes     []node     `json:"nodes"`
		Meshes    []mesh     `json:"meshes"`
		Materials []material `json:"materials"`
		Accessors []accessor `json:"accessors"`
		Views     []view     `json:"bufferViews"`
		Buffers   []buffer   `json:"buffers"`
	}
	asset struct {
		Version   string `json:"version"`
		Generator string `json:"generator"`
	}
	scene struct {
		Nodes []int `json:"nodes"`
	}
	node struct {
		Name string `json:"name"`
		Mesh int    `json:"mesh"`
	}
	mesh struct {
		Name       string      `json:"name"`
		Primitives []primitive `json:"primitives"`
	}
	primitive struct {
		Attributes map[string]int `json:"attributes"`
		Indices    int            `json:"indices"`
		Material   int            `json:"material"`
	}
	material struct {
		Name    string `json:"name"`
		Surface metal  `json:"pbrMetallicRoughness"`
		Double  bool   `json:"doubleSided"`
	}
	metal struct {
		Colour    [4]float32 `json:"baseColorFactor"`
		Metallic  float32    `json:"metallicFactor"`
		Roughness float32    `json:"roughnessFactor"`
	}
	accessor struct {
		View      int       `json:"bufferView"`
		Component int       `json:"componentType"`
		Count     int       `json:"count"`
		Kind      string    `json:"type"`
		Least     []float32 `json:"min,omitempty"`
		Most      []float32 `json:"max,omitempty"`
	}
	view struct {
		Buffer int `json:"buffer"`
		Offset int `json:"byteOffset"`
		Length int `json:"byteLength"`
		Target int `json:"target"`
	}
	buffer struct {
		Length int `json:"byteLength"`
	}
)

// materials by surface.
var materials = []material{
	Ground:  {Name: "ground", Surface: metal{[4]float32{0.86, 0.87, 0.9, 1}, 0.6, 0.35}},
	Outside: {Name: "bar", Surface: metal{[4]float32{0.55, 0.57, 0.6, 1}, 0.6, 0.5}},
	Cut:     {Name: "cut", Surface: metal{[4]float32{0.45, 0.45, 0.47, 1}, 0.3, 0.8}},
	Flute:   {Name: "flute", Surface: metal{[4]float32{0.68, 0.7, 0.74, 1}, 0.6, 0.4}},
}

// Codes of the standard.
const (
	float32Code, uint32Code       = 5126, 5125
	arrayTarget, indexTarget      = 34962, 34963
	magic, jsonChunk, binaryChunk = 0x46546C67, 0x4E4F534A, 0x004E4942
)

// writer gathers a file.
type writer struct {
	doc        document
	body       bytes.Buffer
	primitives []primitive
}

// patch writes one primitive.
func (g *writer) patch(m Mesh, p Patch) {
	if len(p.Faces) == 0 {
		return
	}
	positions, normals := make([][3]float32, len(p.Vertices)), make([][3]float32, len(p.Vertices))
	for i, v := range p.Vertices {
		positions[i] = yUp(m.Positions[v.Position].Times(1e-3))
		normals[i] = yUp(v.Normal)
	}
	least, most := box(positions)
	attributes := map[string]int{
		"POSITION": g.accessor(positions, accessor{Component: float32Code, Count: len(positions), Kind: "VEC3", Least: least, Most: most}, arrayTarget),
		"NORMAL":   g.accessor(normals, accessor{Component: float32Code, Count: len(normals), Kind: "VEC3"}, arrayTarget),
	}
	if p.Surface == Ground {
		wedges, places := make([]float32, len(p.Vertices)), make([][2]float32, len(p.Vertices))
		for i, v := range p.Vertices {
			wedges[i] = float32(v.Wedge * 180 / math.Pi)
			places[i] = [2]float32{float32(v.Along), float32(v.Down)}
		}
		attributes["_WEDGE"] = g.accessor(wedges, accessor{Component: float32Code, Count: len(wedges), Kind: "SCALAR"}, arrayTarget)
		attributes["TEXCOORD_0"] = g.accessor(places, accessor{Component: float32Code, Count: len(places), Kind: "VEC2"}, arrayTarget)
	}
	indices := g.accessor(p.Faces, accessor{Component: uint32Code, Count: 3 * len(p.Faces), Kind: "SCALAR"}, indexTarget)
	g.primitives = append(g.primitives, primitive{attributes, indices, int(p.Surface)})
}

// yUp turns the tool frame into the file's: back is x, up is y, side is z.
func yUp(v space.Vec) [3]float32 { return [3]float32{float32(v.Back), float32(v.Up), float32(v.Side)} }

func box(points [][3]float32) (least, most []float32) {
	l, m := points[0], points[0]
	for _, p := range points {
		for i := range p {
			l[i], m[i] = min(l[i], p[i]), max(m[i], p[i])
		}
	}
	return l[:], m[:]
}

// accessor writes data, whose size is a multiple of 4, and describes it.
func (g *writer) accessor(data any, a accessor, target int) int {
	offset := g.body.Len()
	_ = binary.Write(&g.body, binary.LittleEndian, data) // a buffer takes everything
	g.doc.Views = append(g.doc.Views, view{Offset: offset, Length: g.body.Len() - offset, Target: target})
	a.View = len(g.doc.Views) - 1
	g.doc.Accessors = append(g.doc.Accessors, a)
	return a.View
}

// file joins header, description and data.
func (g *writer) file() []byte {
	text, _ := json.Marshal(g.doc) // plain values
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	word := binary.LittleEndian.AppendUint32
	total := 12 + 8 + len(text) + 8 + g.body.Len()
	out := make([]byte, 0, total)
	out = word(word(word(out, magic), 2), uint32(total))
	out = append(word(word(out, uint32(len(text))), jsonChunk), text...)
	return append(word(word(out, uint32(g.body.Len())), binaryChunk), g.body.Bytes()...)
}
