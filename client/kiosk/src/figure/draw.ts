// The drawing as SVG. Shades and line widths are the style sheet's; what is lit is drawn last, boldly, with its number in a frame.
import { html, nothing, svg, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { text } from '../api/read'
import type { Figure } from '../api/types'
import { Screen } from '../parts/screen'
import { lineHigh, placed, type Placed } from './letters'
import { framed, taken, type Box, type Shapes, type Stroke } from './shapes'

const numbered = ['stick_out', 'leg_angle', 'wheel_gap', 'slide', 'height', 'platform_tilt', 'edge_angle', 'bevel_reading', 'wheel_gap_far', 'face_distance', 'pivot_to_axle', 'platform_to_axle', 'setback', 'width']

/** drawing of a figure with one part lit, or of all its dimensions. The style sheet gives it its room. */
export const drawing = (figure: Figure | undefined, lit = ''): TemplateResult | typeof nothing =>
  figure && typeof figure === 'object' ? html`<div class="drawing"><k-figure .figure=${figure} .lit=${lit}></k-figure></div>` : nothing

/** Letters are so high at least, in those of the page, and so many of their heights go across a wide drawing: they are read at arm's length. */
const sizes = { lit: { least: 1, across: 30 }, all: { least: 0.92, across: 36 } }
const narrow = 30 // letters' heights, of a room in which a name and its number have a line each
const passes = 8 // letters beside the drawing make it smaller, so that they want more room; in small steps, for they may find other places

/** Fitted is a drawing in its room; its letters are too small by a factor. */
interface Fitted {
  shapes: Shapes
  labels: Placed[]
  view: Box
  small: number
}

@customElement('k-figure')
export class FigureView extends Screen {
  @property({ attribute: false }) figure!: Figure
  @property() lit = ''
  @state() private wide = 0
  @state() private high = 0
  private readonly watch = new ResizeObserver(([entry]) => entry && ([this.wide, this.high] = [entry.contentRect.width, entry.contentRect.height]))

  override connectedCallback(): void {
    super.connectedCallback()
    this.watch.observe(this)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    this.watch.disconnect()
  }

  protected override render() {
    if (this.wide < 1 || this.high < 1) return nothing
    const { shapes, labels, view } = this.fitted()
    const bright = (part: string) => this.lit !== '' && part === this.lit
    const rest = shapes.strokes.filter((s) => !bright(s.part)), top = shapes.strokes.filter((s) => bright(s.part))
    const box = [view.left, view.top, width(view), height(view)].map((v) => v.toFixed(2)).join(' ')
    return html`
      <svg class="figure" viewBox=${box} role="img" aria-label=${text(this.figure.description, 1000)} focusable="false">
        ${rest.map((s) => stroke(s, ''))}${top.map((s) => stroke(s, ' lit'))}
        ${labels.map((p) => leader(p))}${labels.map((p) => letters(p, shapes.em, bright(p.label.part)))}
      </svg>`
  }

  // fitted is the drawing with its letters, as large as there is room for both.
  private fitted(): Fitted {
    const one = this.lit !== '', { least, across } = one ? sizes.lit : sizes.all
    const page = parseFloat(getComputedStyle(document.documentElement).fontSize)
    const letter = Math.max(least * page, this.wide / across) // px
    const wanted = (part: string) => (one ? part === this.lit : numbered.includes(part))
    const frame = framed(this.figure, false)
    const perPx = (box: Box) => Math.max(width(box) / this.wide, height(box) / this.high) // mm
    const tries: Fitted[] = []
    for (let scale = perPx(frame); tries.length < passes; ) {
      const em = letter * scale, edge = 0.8 * em
      const shapes = taken(this.figure, filling(frame, this.wide * scale - 2 * edge, this.high * scale - 2 * edge), em, this.wide < narrow * letter, wanted)
      const { labels, box } = placed(shapes, one)
      const view = grown(box, edge), next = perPx(view), small = next / scale
      tries.push({ shapes, labels, view, small })
      if (small < 1.03) break
      scale = Math.min(1.02 * next, 1.15 * scale)
    }
    return tries.reduce((best, next) => (next.small < best.small ? next : best))
  }
}

const width = (b: Box) => b.right - b.left
const height = (b: Box) => b.bottom - b.top
const grown = (b: Box, by: number): Box => ({ left: b.left - by, right: b.right + by, top: b.top - by, bottom: b.bottom + by })

/** filling is a box made as wide and high as there is room, about its middle. */
function filling(b: Box, wide: number, high: number): Box {
  const x = Math.max(0, wide - width(b)) / 2, y = Math.max(0, high - height(b)) / 2
  return { left: b.left - x, right: b.right + x, top: b.top - y, bottom: b.bottom + y }
}

const stroke = (s: Stroke, lit: string) => svg`<path class=${`${s.role} ${s.closed ? 'area' : 'line'}${s.head ? ' head' : ''}${lit}`} d=${s.d} />`

const leader = ({ leader }: Placed) => (leader ? svg`<path class="leader" d=${`M${leader[0].x} ${leader[0].y} L${leader[1].x} ${leader[1].y}`} />` : nothing)

const letters = ({ label, box, centre, over }: Placed, em: number, lit: boolean) => svg`
  <g class=${lit ? 'letters lit' : over ? 'letters over' : 'letters'}>
    ${lit ? svg`<rect x=${box.left} y=${box.top} width=${box.right - box.left} height=${box.bottom - box.top} rx=${0.35 * em} />` : nothing}
    <text font-size=${em} text-anchor="middle">${label.lines.map((line, i) => svg`${i > 0 ? ' ' : nothing}<tspan x=${centre.x} y=${centre.y + (0.36 + lineHigh * (i - (label.lines.length - 1) / 2)) * em}>${line}</tspan>`)}</text>
  </g>`
