// A figure of the API taken apart into strokes and labels, x to the right and y downwards as SVG has it. Nothing is computed of the grind:
// a dimension's lines and arrowheads are drawn between the points that the API gives.
import { list, num, text } from '../api/read'
import type { Figure, FigureItem, FigurePoint } from '../api/types'

export interface Point { x: number; y: number }
export interface Box { left: number; top: number; right: number; bottom: number }

export interface Stroke {
  d: string
  /** Straight from each to the next, for letters to keep off. */
  points: Point[]
  bounds: Box
  /** wheel, steel, holder, support, dimension or construction. */
  role: string
  part: string
  closed: boolean
  head: boolean
}

/** A place on what is meant, which way is out of the drawing there, and how far off the best such place it is, 0 being the best. */
export interface Anchor {
  at: Point
  out: Point
  off: number
}

export interface Label {
  lines: string[]
  part: string
  anchors: Anchor[]
}

export interface Shapes {
  strokes: Stroke[]
  labels: Label[]
  em: number
  narrow: boolean
  box: Box
}

const farthest = 1e5 // mm, as the other drawers have it
const mostItems = 200
const mostPoints = 3000

/** near is a number that can be drawn, or undefined. */
function near(value: unknown): number | undefined {
  const v = num(value)
  return v === undefined || Math.abs(v) > farthest ? undefined : v
}

/** at is a point, or undefined where it is none. */
function at(p: FigurePoint | undefined): Point | undefined {
  const x = near(p?.outMm), y = near(p?.upMm)
  return x === undefined || y === undefined ? undefined : { x, y: -y }
}

const rad = (deg: number) => (deg * Math.PI) / 180
const polar = (c: Point, r: number, deg: number): Point => ({ x: c.x + r * Math.cos(rad(deg)), y: c.y - r * Math.sin(rad(deg)) })
const xy = (p: Point) => `${p.x.toFixed(2)} ${p.y.toFixed(2)}`
const along = (p: Point, way: Point, by: number): Point => ({ x: p.x + way.x * by, y: p.y + way.y * by })

function way(from: Point, to: Point): Point {
  const far = Math.hypot(to.x - from.x, to.y - from.y) || 1
  return { x: (to.x - from.x) / far, y: (to.y - from.y) / far }
}

const role = (item: FigureItem) => text(item.role).replace('FIGURE_ROLE_', '').toLowerCase() || 'dimension'

/** sampled are points along an arc. */
function sampled(c: Point | undefined, r: number | undefined, start: number | undefined, sweep: number | undefined): Point[] {
  if (!c || r === undefined || start === undefined || sweep === undefined) return []
  const pieces = Math.max(4, Math.ceil(Math.abs(sweep) / 5))
  return Array.from({ length: pieces + 1 }, (_, i) => polar(c, r, start + (sweep * i) / pieces))
}

/** dimensionEnds are what is measured, and the ends of the line that says so. */
function dimensionEnds(item: FigureItem): Point[] {
  const from = at(item.dimension?.from), to = at(item.dimension?.to)
  if (!from || !to) return []
  const on = way(from, to), left = { x: on.y, y: -on.x }, offset = near(item.dimension?.offsetMm) ?? 0
  return [from, to, along(from, left, offset), along(to, left, offset)]
}

/** framed is the box around a figure, or around all that is not the wheel: a wheel may run out of the picture. */
export function framed(figure: Figure, wholeWheel: boolean): Box {
  const box = { left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity }
  const include = (p: Point | undefined) => {
    if (!p) return
    box.left = Math.min(box.left, p.x)
    box.right = Math.max(box.right, p.x)
    box.top = Math.min(box.top, p.y)
    box.bottom = Math.max(box.bottom, p.y)
  }
  for (const item of list(figure.items, mostItems)) {
    if (!wholeWheel && (item.part === 'wheel' || role(item) === 'construction')) continue
    list(item.path?.points, mostPoints).forEach((p) => include(at(p)))
    dimensionEnds(item).forEach(include)
    const round = item.arc ?? item.angle
    sampled(at(item.arc?.centre ?? item.angle?.apex), near(round?.radiusMm), near(round?.startDeg), near(round?.sweepDeg)).forEach(include)
  }
  return Number.isFinite(box.left) && box.right > box.left ? box : { left: -100, right: 100, top: -100, bottom: 100 }
}

/** taken takes a figure apart, with letters of a height. Only the labels that are wanted come along; in narrow ones the number is below its name. */
export function taken(figure: Figure, box: Box, em: number, narrow: boolean, wanted: (part: string) => boolean): Shapes {
  const shapes: Shapes = { strokes: [], labels: [], em, narrow, box }
  for (const item of list(figure.items, mostItems)) take(shapes, item, wanted)
  return shapes
}

function take(s: Shapes, item: FigureItem, wanted: (part: string) => boolean): void {
  const part = text(item.part, 40), like = { role: role(item), part, closed: false, head: false }
  const label = (words: unknown, anchors: Anchor[]) => {
    const said = text(words, 60).replace(/(^|\s)-(?=\d)/, '$1−'), number = s.narrow ? said.search(/ [−\d]/) : -1
    if (said && wanted(part)) s.labels.push({ lines: number < 0 ? [said] : [said.slice(0, number), said.slice(number + 1)], part, anchors })
  }
  if (item.path) {
    const points = list(item.path.points, mostPoints).map(at).filter((p): p is Point => p !== undefined)
    if (points.length > 0) {
      const closed = item.path.closed === true
      const round = closed ? [...points, points[0]!] : points
      add(s, { ...like, closed }, round, 'M' + points.map(xy).join(' L') + (closed ? ' Z' : ''))
    }
  } else if (item.arc) {
    arc(s, like, at(item.arc.centre), item.arc.radiusMm, item.arc.startDeg, item.arc.sweepDeg)
  } else if (item.text) {
    const p = at(item.text.at)
    if (p) label(item.text.text, [{ at: p, out: { x: 0, y: 0 }, off: 0 }])
  } else if (!wanted(part)) {
    return // a dimension that is not asked for would only be in the way
  } else if (item.dimension) {
    const from = at(item.dimension.from), to = at(item.dimension.to)
    if (from && to) dimension(s, like, from, to, near(item.dimension.offsetMm) ?? 0, (anchors) => label(item.dimension?.text, anchors))
  } else if (item.angle) {
    const apex = at(item.angle.apex), r = near(item.angle.radiusMm), start = near(item.angle.startDeg), sweep = near(item.angle.sweepDeg)
    if (apex && r !== undefined && start !== undefined && sweep !== undefined) {
      angle(s, like, apex, r, start, sweep, (anchors) => label(item.angle?.text, anchors))
    }
  }
}

/** add draws a stroke through points. */
function add(s: Shapes, like: Like, points: Point[], d: string): void {
  const xs = points.map((p) => p.x), ys = points.map((p) => p.y)
  s.strokes.push({ ...like, points, d, bounds: { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) } })
}

type Like = Omit<Stroke, 'd' | 'points' | 'bounds'>

const shares = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]

/** spread are places along a line, from its middle outwards. */
const spread = (at: (share: number) => Point, out: (share: number) => Point): Anchor[] =>
  shares.map((share) => ({ at: at(share), out: out(share), off: 2 * Math.abs(share - 0.5) }))

function arc(s: Shapes, like: Like, c: Point | undefined, radius: unknown, from: unknown, turn: unknown): void {
  const r = near(radius), start = near(from), sweep = near(turn)
  if (!c || r === undefined || start === undefined || sweep === undefined || r < 0) return
  if (sweep >= 360 - 1e-6) {
    return add(s, { ...like, closed: true }, sampled(c, r, 0, 360), `M${xy(polar(c, r, 0))} A${r} ${r} 0 1 0 ${xy(polar(c, r, 180))} A${r} ${r} 0 1 0 ${xy(polar(c, r, 0))} Z`)
  }
  add(s, like, sampled(c, r, start, sweep), `M${xy(polar(c, r, start))} A${r} ${r} 0 ${sweep > 180 ? 1 : 0} 0 ${xy(polar(c, r, start + sweep))}`)
}

function head(s: Shapes, like: Like, tip: Point, to: Point, size = 1): void {
  const long = 0.9 * s.em * size, half = 0.26 * s.em * size
  const base = along(tip, to, -long), aside = { x: -to.y, y: to.x }
  add(s, { ...like, head: true, closed: true }, [tip, base], `M${xy(tip)} L${xy(along(base, aside, half))} L${xy(along(base, aside, -half))} Z`)
}

const line = (s: Shapes, like: Like, a: Point, b: Point) => add(s, like, [a, b], `M${xy(a)} L${xy(b)}`)

function dimension(s: Shapes, like: Like, from: Point, to: Point, offset: number, label: (anchors: Anchor[]) => void): void {
  const to1 = way(from, to), left = { x: to1.y, y: -to1.x } // to the left of the way, y running down
  const a = along(from, left, offset), b = along(to, left, offset), sign = Math.sign(offset) || 1
  if (Math.abs(offset) > s.em) {
    for (const [foot, end] of [[from, a], [to, b]] as const) line(s, like, along(foot, left, 0.3 * s.em * sign), along(end, left, 0.5 * s.em * sign))
  }
  const back = { x: -to1.x, y: -to1.y }
  if (Math.hypot(b.x - a.x, b.y - a.y) < 2.6 * s.em) {
    line(s, like, along(a, to1, -2 * s.em), along(b, to1, 2 * s.em))
    head(s, like, a, to1)
    head(s, like, b, back)
  } else {
    line(s, like, a, b)
    head(s, like, a, back)
    head(s, like, b, to1)
  }
  const out = { x: left.x * sign, y: left.y * sign }
  label(spread((share) => along(a, to1, share * Math.hypot(b.x - a.x, b.y - a.y)), () => out))
}

function angle(s: Shapes, like: Like, apex: Point, r: number, start: number, sweep: number, label: (anchors: Anchor[]) => void): void {
  arc(s, like, apex, r, start, sweep)
  const bend = r > 0 ? ((0.45 * s.em) / r) * (180 / Math.PI) : 0
  const tangent = (deg: number, ahead: number): Point => ({ x: -Math.sin(rad(deg)) * ahead, y: -Math.cos(rad(deg)) * ahead })
  const size = Math.min(1, sweep / (6 * bend || 1)) // a short arc has small heads
  head(s, like, polar(apex, r, start), tangent(start + bend * size, -1), size)
  head(s, like, polar(apex, r, start + sweep), tangent(start + sweep - bend * size, 1), size)
  const at = (share: number) => polar(apex, r, start + sweep * share)
  label(spread(at, (share) => way(apex, at(share))))
}
