// A wheel's diameter over time: what was measured, what is expected with its range, and where the wheel ends. It is drawn in the size that it
// is shown in, so that its letters are as large as any.
import { html, nothing, svg, type TemplateResult } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { placed, type Placed } from '../figure/letters'
import type { Anchor, Box, Point, Stroke } from '../figure/shapes'
import { fixed, fromMm, length, toMm, unit } from '../format'
import { Screen } from '../parts/screen'
import { t } from '../words'
import { calendar, day } from './said'
import { size, type Entry, type Expected, type WearLog } from './wear-data'

const ms = 86_400_000 // a day
const dot = 0.36 // of letters, half as wide as a measurement's dot
const shares = [0.06, 0.16, 0.3, 0.45, 0.6, 0.75, 0.88, 0.95] // of a line, where its name may stand

interface Frame {
  width: number
  height: number
  em: number
  left: number
  right: number
  top: number
  bottom: number
  x: (time: number) => number
  y: (mm: number) => number
  times: number[]
  sizes: number[]
  /** Where today and the wheel's end are, if that is in the picture. */
  today: number | undefined
  end: number | undefined
}

@customElement('k-plot')
export class Plot extends Screen {
  @property({ attribute: false }) log!: WearLog
  @state() private width = 0
  private readonly watcher = new ResizeObserver(([entry]) => (this.width = Math.round(entry?.contentRect.width ?? 0)))

  override connectedCallback(): void {
    super.connectedCallback()
    this.watcher.observe(this)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    this.watcher.disconnect()
  }

  private get measured(): (Entry & { time: number; mm: number })[] {
    return this.log.entries.filter((e): e is Entry & { time: number; mm: number } => e.time !== undefined && e.mm !== undefined).reverse()
  }

  // frame is what is shown: all that was measured, what is expected, and the wheel's end where it comes so far.
  private frame(): Frame | undefined {
    const { measured } = this, { ahead } = this.log
    const times = [...measured, ...ahead].map((p) => p.time), sizes = [...measured.map((p) => p.mm), ...ahead.flatMap((p) => [p.mm, p.least ?? p.mm, p.most ?? p.mm])]
    if (measured.length === 0 || this.width < 100) return undefined
    const lowest = Math.min(...sizes), highest = Math.max(...sizes), room = Math.max(0.5, highest - lowest)
    const end = size(this.log.wheel.smallestDiameterMm)
    const from = end !== undefined && end > lowest - room / 2 ? Math.min(lowest, end) : lowest
    const first = Math.min(...times), last = Math.max(...times), span = Math.max(ms * 14, last - first)
    const em = parseFloat(getComputedStyle(this).fontSize) * 0.85 || 15
    const { width } = this, height = Math.round(Math.min(Math.max(width * 0.6, 13 * em), innerHeight * 0.62, 30 * em))
    const [left, right, top, bottom] = [4.4 * em, width - 0.8 * em, 2 * em, height - 2.4 * em]
    const start = first - 0.03 * span, low = Math.max(0, from - 0.08 * room), high = highest + 0.08 * room
    const stop = Math.max(last, first + span) + 0.03 * span
    const x = (time: number) => left + ((time - start) / (stop - start)) * (right - left), y = (mm: number) => bottom - ((mm - low) / (high - low)) * (bottom - top)
    const now = x(Date.now())
    return {
      width, height, em, left, right, top, bottom, x, y,
      today: now < left || now > right ? undefined : now, end: end === undefined || y(end) > bottom ? undefined : y(end),
      times: days(start, stop, Math.max(2, Math.floor((right - left) / (4.4 * em)))), sizes: marks(fromMm(low), fromMm(high), Math.max(3, Math.floor((bottom - top) / (2 * em)))),
    }
  }

  protected override render() {
    const frame = this.frame()
    return html`<figure class="plot">${frame ? this.picture(frame) : nothing}<figcaption>${this.legend()}</figcaption></figure>`
  }

  private picture(f: Frame): TemplateResult {
    const { measured } = this, first = measured[0], last = measured.at(-1), { ahead } = this.log
    const label = first && last ? t('Measurements: {n}, from {first} on {start} to {last} on {end}. All numbers are in the tables.', {
      n: measured.length, first: length(first.mm), start: day(first.time), last: length(last.mm), end: day(last.time) }) : ''
    return html`
      <svg viewBox=${`0 0 ${f.width} ${f.height}`} width=${f.width} height=${f.height} role="img" aria-label=${label} focusable="false" font-size=${f.em}>
        ${this.axes(f)}
        ${range(f, ahead)}
        ${f.end === undefined ? nothing : svg`<path class="end" d=${`M${f.left} ${f.end} H${f.right}`} />`}
        ${f.today === undefined ? nothing : svg`<path class="today" d=${`M${f.today} ${f.top} V${f.bottom}`} />`}
        ${this.dressings(f)}
        ${ahead.length > 1 ? svg`<path class="expected" d=${path(f, ahead)} />` : nothing}
        <path class="joined" d=${path(f, measured)} />
        ${measured.map((p) => svg`<circle class="point" cx=${f.x(p.time)} cy=${f.y(p.mm)} r=${dot * f.em} />`)}
        ${this.names(f).map((p) => name(p))}
      </svg>`
  }

  private axes(f: Frame): TemplateResult<2> {
    const places = f.sizes.length > 1 ? Math.max(0, Math.ceil(-Math.log10(f.sizes[1]! - f.sizes[0]!) - 1e-9)) : 1
    return svg`
      <text class="axis" x="0" y=${1.1 * f.em}>${t('Diameter, {unit}', { unit: unit() })}</text>
      ${f.sizes.map((s) => svg`<path class="grid" d=${`M${f.left} ${f.y(toMm(s))} H${f.right}`} /><text x=${f.left - 0.5 * f.em} y=${f.y(toMm(s)) + 0.35 * f.em} text-anchor="end">${fixed(s, places)}</text>`)}
      <path class="frame" d=${`M${f.left} ${f.top} V${f.bottom} H${f.right}`} />
      ${f.times.map((time) => svg`<path class="frame" d=${`M${f.x(time)} ${f.bottom} v${0.4 * f.em}`} /><text x=${Math.min(f.x(time), f.right - 2 * f.em)} y=${f.bottom + 1.7 * f.em} text-anchor="middle">${shortDay(time, f)}</text>`)}`
  }

  // names are the words beside the wheel's end and beside today, where the least of what is shown is under them.
  private names(f: Frame): Placed[] {
    const { measured } = this, { ahead } = this.log, spot = (p: { time: number; mm: number }) => ({ x: f.x(p.time), y: f.y(p.mm) })
    const known = ahead.filter((p) => p.least !== undefined && p.most !== undefined)
    const strokes = [
      line(measured.map(spot)), line(ahead.map(spot)), ...measured.map((p) => around(spot(p), dot * f.em)),
      ...[known.map((p) => p.least!), known.map((p) => p.most!)].map((edge) => line(edge.map((mm, i) => spot({ time: known[i]!.time, mm })))),
      ...this.dressed.map(f.x).map((x) => line([{ x, y: f.top }, { x, y: f.bottom }])),
    ]
    const labels = []
    if (f.end !== undefined) {
      const y = f.end
      strokes.push(line([{ x: f.left, y }, { x: f.right, y }]))
      labels.push({ lines: [t('smallest diameter')], part: '', anchors: along((share) => ({ x: f.left + share * (f.right - f.left), y }), { x: 0, y: -1 }) })
    }
    if (f.today !== undefined) {
      const x = f.today
      strokes.push(line([{ x, y: f.top }, { x, y: f.bottom }]))
      labels.push({ lines: [t('today')], part: '', anchors: along((share) => ({ x, y: f.top + share * (f.bottom - f.top) }), { x: 1, y: 0 }) })
    }
    return placed({ strokes, labels, em: f.em, narrow: false, box: f }, false).labels
  }

  private get dressed(): number[] {
    return this.log.entries.filter((e) => e.measurement.dressed === true && e.time !== undefined).map((e) => e.time ?? 0)
  }

  private dressings(f: Frame): TemplateResult<2>[] {
    return this.dressed.map((time) => {
      const x = f.x(time)
      return svg`<path class="dressed" d=${`M${x - 0.45 * f.em} ${f.top - 0.6 * f.em} h${0.9 * f.em} L${x} ${f.top + 0.2 * f.em} Z M${x} ${f.top} V${f.bottom}`} />`
    })
  }

  private legend(): TemplateResult {
    const sample = (drawn: TemplateResult<2>, words: string) => html`<li><svg class="sample" viewBox="0 0 40 20" width="40" height="20" aria-hidden="true" focusable="false">${drawn}</svg> ${words}</li>`
    const dressed = this.log.entries.some((e) => e.measurement.dressed === true), { ahead } = this.log
    return html`<ul class="plot-legend">
      ${sample(svg`<path class="joined" d="M2 7 L38 13" /><circle class="point" cx="20" cy="10" r="5" />`, t('measured'))}
      ${dressed ? sample(svg`<path class="dressed" d="M15 1 h10 L20 8 Z M20 8 V19" />`, t('dressed')) : nothing}
      ${ahead.length > 1 ? sample(svg`<path class="expected" d="M2 10 H38" />`, t('expected')) : nothing}
      ${ahead.some((p) => p.least !== undefined) ? sample(svg`<path class="range" d="M2 3 H38 V17 H2 Z" />`, t('within this range it should be')) : nothing}
    </ul>`
  }
}

/** line is what letters keep off; no part of it is drawn from here. */
function line(points: Point[]): Stroke {
  const xs = points.map((p) => p.x), ys = points.map((p) => p.y)
  const bounds: Box = { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) }
  return { d: '', points, bounds, role: '', part: '', closed: false, head: false }
}

/** around is a line around a dot. */
const around = ({ x, y }: Point, r: number) => line([{ x: x - r, y: y - r }, { x: x + r, y: y - r }, { x: x + r, y: y + r }, { x: x - r, y: y + r }, { x: x - r, y: y - r }])

// along are places on a line, the first the best.
const along = (at: (share: number) => Point, out: Point): Anchor[] => shares.map((share, i) => ({ at: at(share), out, off: 0.1 * i }))

const name = ({ label, box, leader }: Placed) => svg`
  ${leader ? svg`<path class="leader" d=${`M${leader[0].x} ${leader[0].y} L${leader[1].x} ${leader[1].y}`} />` : nothing}
  <text class="name" x=${(box.left + box.right) / 2} y=${(box.top + box.bottom) / 2} dy="0.36em" text-anchor="middle">${label.lines[0]}</text>`

const at = (f: Frame, time: number, mm: number) => `${f.x(time).toFixed(1)} ${f.y(mm).toFixed(1)}`
const path = (f: Frame, points: { time: number; mm: number }[]) => 'M' + points.map((p) => at(f, p.time, p.mm)).join(' L')

function range(f: Frame, ahead: Expected[]): TemplateResult<2> | typeof nothing {
  const known = ahead.filter((p) => p.least !== undefined && p.most !== undefined)
  if (known.length < 2) return nothing
  const edge = [...known.map((p) => at(f, p.time, p.most ?? p.mm)), ...known.reverse().map((p) => at(f, p.time, p.least ?? p.mm))]
  return svg`<path class="range" d=${'M' + edge.join(' L') + ' Z'} />`
}

/** marks are round numbers between two, at most so many. */
function marks(low: number, high: number, most: number): number[] {
  const rough = (high - low) / most, ten = 10 ** Math.floor(Math.log10(rough))
  const step = [1, 2, 5, 10].map((n) => n * ten).find((s) => s >= rough) ?? 10 * ten
  const found: number[] = []
  for (let n = Math.ceil(low / step); n * step <= high && found.length < 40; n++) found.push(n * step)
  return found
}

/** days are the beginnings of weeks, months or years between two times, at most so many. */
function days(from: number, to: number, most: number): number[] {
  const steps = [1, 2, 3, 6, 12, 24, 60, 120, 600], found: number[] = []
  if ((to - from) / (ms * 61) < 1) {
    const step = ms * (Math.ceil((to - from) / ms / most) || 1)
    for (let time = Math.ceil(from / ms) * ms; time <= to && found.length < most; time += step) found.push(time)
    return found
  }
  const step = steps.find((s) => (to - from) / (ms * 30.44 * s) <= most) ?? 1200
  const start = new Date(from), month = start.getFullYear() * 12 + start.getMonth()
  for (let n = Math.ceil((month + 1) / step) * step; found.length < most + 1; n += step) {
    const time = new Date(Math.floor(n / 12), n % 12, 1).getTime()
    if (time > to) return found
    found.push(time)
  }
  return found
}

// shortDay says the year where it begins, and at the first mark.
function shortDay(time: number, f: Frame): string {
  const apart = f.times.length > 1 ? (f.times[1]! - f.times[0]!) / ms : 30
  const year = time === f.times[0] || new Date(time).getMonth() === 0
  const options: Intl.DateTimeFormatOptions = apart < 25 ? { day: 'numeric', month: 'short' } : apart > 360 ? { year: 'numeric' } : year ? { month: 'short', year: 'numeric' } : { month: 'short' }
  return new Intl.DateTimeFormat(calendar(), options).format(time)
}
