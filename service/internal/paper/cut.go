package paper

import (
	"encoding/binary"
	"maps"
	"slices"

	"github.com/go-text/typesetting/font/opentype"
)

// A face that is embedded is cut to the shapes that a document shows, numbered anew. Only what printers and readers need is kept: outlines and
// advances, without the instructions that fit letters to coarse screens. The tables are those of OpenType 1.9 (ISO/IEC 14496-22).

var be = binary.BigEndian

// outlines are the tables of a face that say what its shapes look like.
type outlines struct {
	head, hhea, maxp, hmtx, loca, glyf []byte
	perEm                              float64
}

func outlinesOf(file []byte) outlines {
	tables := map[string][]byte{}
	for i := range int(be.Uint16(file[4:])) {
		entry := file[12+16*i:]
		start := be.Uint32(entry[8:])
		tables[string(entry[:4])] = file[start : start+be.Uint32(entry[12:])]
	}
	o := outlines{tables["head"], tables["hhea"], tables["maxp"], tables["hmtx"], tables["loca"], tables["glyf"], 0}
	o.perEm = float64(be.Uint16(o.head[18:]))
	if be.Uint16(o.head[50:]) != 1 {
		panic("the face has short offsets") // the fonts are part of the program
	}
	return o
}

// metric is a shape's entry in hmtx: its advance and left bearing. The last advance stands for all that follow.
func (o outlines) metric(shape opentype.GID) []byte {
	if long := int(be.Uint16(o.hhea[34:])); int(shape) >= long {
		bearing := o.hmtx[4*long+2*(int(shape)-long):]
		return []byte{o.hmtx[4*long-4], o.hmtx[4*long-3], bearing[0], bearing[1]}
	}
	return o.hmtx[4*shape : 4*shape+4]
}

// advance of a shape, in em.
func (o outlines) advance(shape opentype.GID) float64 {
	return float64(be.Uint16(o.metric(shape))) / o.perEm
}

func (o outlines) glyph(shape opentype.GID) []byte {
	return o.glyf[be.Uint32(o.loca[4*shape:]):be.Uint32(o.loca[4*shape+4:])]
}

// Flags of a part of a composed shape.
const (
	wordsFollow  = 1 << 0
	scaled       = 1 << 3
	partsFollow  = 1 << 5
	scaledXY     = 1 << 6
	turned       = 1 << 7
	instructions = 1 << 8
)

// cut is a face with some shapes only: .notdef is number 0, then they follow in order, then the parts that they are composed of.
func (o outlines) cut(shapes []opentype.GID) []byte {
	all := append([]opentype.GID{0}, shapes...)
	number := map[opentype.GID]int{}
	for i, shape := range all {
		if _, known := number[shape]; !known {
			number[shape] = i
		}
	}
	var glyf, loca, hmtx []byte
	for i := 0; i < len(all); i++ { // which grows by parts
		loca = be.AppendUint32(loca, uint32(len(glyf)))
		hmtx = append(hmtx, o.metric(all[i])...)
		bare := plain(o.glyph(all[i]), func(part opentype.GID) int {
			n, known := number[part]
			if !known {
				n = len(all)
				number[part], all = n, append(all, part)
			}
			return n
		})
		glyf = append(glyf, bare...)
		glyf = append(glyf, make([]byte, -len(glyf)&3)...)
	}
	loca = be.AppendUint32(loca, uint32(len(glyf)))
	head, hhea, maxp := slices.Clone(o.head), slices.Clone(o.hhea), slices.Clone(o.maxp)
	be.PutUint32(head[8:], 0) // checksum of the whole, which no reader of PDF looks at
	be.PutUint16(hhea[34:], uint16(len(all)))
	be.PutUint16(maxp[4:], uint16(len(all)))
	return fontFile(map[string][]byte{"glyf": glyf, "head": head, "hhea": hhea, "hmtx": hmtx, "loca": loca, "maxp": maxp})
}

// plain is a shape's outline without instructions, its parts numbered anew.
func plain(glyph []byte, renumber func(part opentype.GID) int) []byte {
	const header = 10
	if len(glyph) == 0 {
		return nil
	}
	if contours := int(int16(be.Uint16(glyph))); contours >= 0 {
		at := header + 2*contours // where the instructions' length stands
		bare := append(slices.Clone(glyph[:at]), 0, 0)
		return append(bare, glyph[at+2+int(be.Uint16(glyph[at:])):]...)
	}
	bare, at := slices.Clone(glyph), header
	for {
		flags := be.Uint16(bare[at:])
		be.PutUint16(bare[at:], flags&^instructions)
		be.PutUint16(bare[at+2:], uint16(renumber(opentype.GID(be.Uint16(bare[at+2:])))))
		at += 6
		for _, more := range []struct{ flag, bytes int }{{wordsFollow, 2}, {scaled, 2}, {scaledXY, 4}, {turned, 8}} {
			if int(flags)&more.flag != 0 {
				at += more.bytes
			}
		}
		if flags&partsFollow == 0 {
			return bare[:at]
		}
	}
}

// fontFile joins tables to a TrueType file.
func fontFile(tables map[string][]byte) []byte {
	const header, entry = 12, 16
	power := 4 // of two: the largest that is not above the number of tables, for readers who search
	file := be.AppendUint32(nil, 0x00010000)
	for _, n := range []int{len(tables), 16 * power, 2, 16 * (len(tables) - power)} {
		file = be.AppendUint16(file, uint16(n))
	}
	file = append(file, make([]byte, entry*len(tables))...)
	for i, tag := range slices.Sorted(maps.Keys(tables)) {
		table := tables[tag]
		at := file[header+entry*i:]
		copy(at, tag)
		be.PutUint32(at[4:], checksum(table))
		be.PutUint32(at[8:], uint32(len(file)))
		be.PutUint32(at[12:], uint32(len(table)))
		file = append(file, table...)
		file = append(file, make([]byte, -len(file)&3)...)
	}
	return file
}

// checksum is the sum of a table's words.
func checksum(table []byte) (sum uint32) {
	for ; len(table) >= 4; table = table[4:] {
		sum += be.Uint32(table)
	}
	var last [4]byte
	copy(last[:], table)
	return sum + be.Uint32(last[:])
}
