// The drawing as SVG. Shades and line widths are the style sheet's; what is lit is drawn last, boldly, with its number in a frame.
import { html, nothing, svg, type TemplateResult } from 'lit'
import { text } from '../api/read'
import type { Figure } from '../api/types'
import { placed, type Placed } from './letters'
import { framed, taken, type Stroke } from './shapes'

const numbered = ['stick_out', 'leg_angle', 'wheel_gap', 'slide', 'height', 'platform_tilt', 'edge_angle', 'bevel_reading', 'wheel_gap_far', 'face_distance', 'pivot_to_axle', 'platform_to_axle', 'setback', 'width']

/** drawing of a figure with one part lit, or of all its dimensions; so many letters' heights go across it. */
export function drawing(figure: Figure | undefined, lit = '', across = lit ? 17 : 26): TemplateResult | typeof nothing {
  if (!figure || typeof figure !== 'object') return nothing
  const one = lit !== ''
  const shapes = taken(figure, framed(figure, false), across, (part) => (one ? part === lit : numbered.includes(part)))
  const { labels, box } = placed(shapes, one)
  const margin = 1.2 * shapes.em
  const view = [box.left - margin, box.top - margin, box.right - box.left + 2 * margin, box.bottom - box.top + 2 * margin]
  const bright = (part: string) => one && part === lit
  const rest = shapes.strokes.filter((s) => !bright(s.part)), top = shapes.strokes.filter((s) => bright(s.part))
  return html`
    <svg class="figure" viewBox=${view.map((v) => v.toFixed(2)).join(' ')} role="img" aria-label=${text(figure.description, 1000)} focusable="false">
      ${rest.map((s) => stroke(s, ''))}${top.map((s) => stroke(s, ' lit'))}
      ${labels.map((p) => leader(p))}${labels.map((p) => letters(p, shapes.em, bright(p.label.part)))}
    </svg>`
}

const stroke = (s: Stroke, lit: string) => svg`<path class=${`${s.role} ${s.closed ? 'area' : 'line'}${s.head ? ' head' : ''}${lit}`} d=${s.d} />`

const leader = ({ leader }: Placed) => (leader ? svg`<path class="leader" d=${`M${leader[0].x} ${leader[0].y} L${leader[1].x} ${leader[1].y}`} />` : nothing)

const letters = ({ label, box, centre, over }: Placed, em: number, lit: boolean) => svg`
  <g class=${lit ? 'letters lit' : over ? 'letters over' : 'letters'}>
    ${lit ? svg`<rect x=${box.left} y=${box.top} width=${box.right - box.left} height=${box.bottom - box.top} rx=${0.35 * em} />` : nothing}
    <text x=${centre.x} y=${centre.y + 0.36 * em} font-size=${em} text-anchor="middle">${label.text}</text>
  </g>`
