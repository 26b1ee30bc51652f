package paper

import (
	"fmt"
	"hash/fnv"
	"strings"
	"unicode/utf16"

	"github.com/go-text/typesetting/font/opentype"
)

// font embeds a face, cut to what is used of it, and gives its object's number. Codes of two bytes are the shapes' numbers in the cut face.
func (v *Volume) font(u *usedFace) int {
	o := u.face.opened()
	shapes := make([]opentype.GID, len(u.glyphs))
	widths := make([]string, len(u.glyphs))
	perMille := func(raw []byte) float64 { return float64(int16(be.Uint16(raw))) * 1000 / o.perEm }
	for i, g := range u.glyphs {
		shapes[i] = g.shape
		widths[i] = string(decimal(nil, 1000*g.own, 2))
	}
	cut := o.cut(shapes)
	name := tag(cut) + "+" + u.face.name
	file := v.stream(fmt.Sprintf("/Length1 %d", len(cut)), cut)
	codes := v.stream("", readAs(u.glyphs))
	descriptor, descendant, font := v.next(), v.next(), v.next()
	const symbolic = 4 // which for a face with codes of its own is all that may be said
	box := o.head[36:44]
	v.object(descriptor, "<</Type/FontDescriptor/FontName/%s/Flags %d/FontBBox[%.0f %.0f %.0f %.0f]/ItalicAngle 0/Ascent %.0f/Descent %.0f/CapHeight %d/StemV %d/FontFile2 %d 0 R>>",
		name, symbolic, perMille(box), perMille(box[2:]), perMille(box[4:]), perMille(box[6:]), perMille(o.hhea[4:]), perMille(o.hhea[6:]), capHeight, 80, file)
	v.object(descendant, "<</Type/Font/Subtype/CIDFontType2/BaseFont/%s/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>/FontDescriptor %d 0 R/CIDToGIDMap/Identity/W[1[%s]]>>",
		name, descriptor, strings.Join(widths, " "))
	v.object(font, "<</Type/Font/Subtype/Type0/BaseFont/%s/Encoding/Identity-H/DescendantFonts[%d 0 R]/ToUnicode %d 0 R>>", name, descendant, codes)
	return font
}

// capHeight is how high capitals are, thousandths of the em.
const capHeight = 729

// tag are six letters that tell one cut of a face from another.
func tag(cut []byte) string {
	h := fnv.New64a()
	_, _ = h.Write(cut) // never fails
	var letters [6]byte
	sum := h.Sum64()
	for i := range letters {
		letters[i] = byte('A' + sum%26)
		sum /= 26
	}
	return string(letters[:])
}

// readAs tells what text a code stands for, code by code.
func readAs(glyphs []glyph) []byte {
	var b strings.Builder
	b.WriteString("/CIDInit/ProcSet findresource begin 12 dict begin begincmap\n" +
		"/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def/CMapName/Adobe-Identity-UCS def/CMapType 2 def\n" +
		"1 begincodespacerange<0000><FFFF>endcodespacerange\n")
	const atOnce = 100 // at most, by the rules
	for from := 0; from < len(glyphs); from += atOnce {
		some := glyphs[from:min(from+atOnce, len(glyphs))]
		fmt.Fprintf(&b, "%d beginbfchar\n", len(some))
		for i, g := range some {
			fmt.Fprintf(&b, "<%04X><", from+i+1)
			for _, unit := range utf16.Encode([]rune(g.text)) {
				fmt.Fprintf(&b, "%04X", unit)
			}
			b.WriteString(">\n")
		}
		b.WriteString("endbfchar\n")
	}
	b.WriteString("endcmap CMapName currentdict/CMap defineresource pop end\n" + "end")
	return []byte(b.String())
}
