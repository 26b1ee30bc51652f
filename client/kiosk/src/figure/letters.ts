// Places for the letters of a drawing: upright boxes, each beside the line that it names, or joined to it by a leader where there is no room,
// so that as little as possible is covered and crossed.
import type { Anchor, Box, Label, Point, Shapes } from './shapes'

export interface Placed {
  label: Label
  box: Box
  centre: Point
  leader: [Point, Point] | undefined
  /** A line runs under the letters. */
  over: boolean
}

interface Offer extends Omit<Placed, 'over'> {
  worse: number
}

const perLetter = 0.46 // width of one, of the letters' height, on the wide side
export const lineHigh = 1.1 // of letters, of their height
const gap = 0.35 // from a line to the letters beside it, of their height
const ahead = [1.6, 3, 5, 8] // lengths of a leader, of the letters' height
const turns = 12 // ways that a leader may go
const leads = 1.5 // cost of a leader; a letter's height of its length is 1/3
const crosses = 2 // cost of a line that a leader crosses
const covers = 12 // cost of a line under letters, and of a letter's height of it: more than of any leader
const pale = 0.1 // of that, for a line that is thin and dashed
const clashes = 100 // cost of letters on letters or on a leader
const rounds = 3 // what comes later may stand where the first would better

/** placed finds a place for every label, framed or not, and the box that holds all of them. */
export function placed(shapes: Shapes, framed: boolean): { labels: Placed[]; box: Box } {
  const { em, labels } = shapes, pad = framed ? 0.45 : 0.2, high = framed ? 0.6 : 0.1
  const sets = labels.map((label) => {
    const longest = Math.max(...label.lines.map((line) => line.length))
    return [...offers(label, (longest * perLetter + 2 * pad) * em, (label.lines.length * lineHigh + high) * em, em)].sort((a, b) => a.worse - b.worse)
  })
  const done: (Offer | undefined)[] = labels.map(() => undefined)
  for (let round = 0, changed = true; changed && round < rounds; round++) {
    changed = false
    sets.forEach((set, i) => {
      const found = cheapest(set, shapes, done.filter((d, n): d is Offer => d !== undefined && n !== i))
      changed ||= found !== done[i] && sets.length > 1
      done[i] = found
    })
  }
  const box = { ...shapes.box }, found = done.filter((d): d is Offer => d !== undefined)
  for (const { box: b } of found) {
    box.left = Math.min(box.left, b.left)
    box.right = Math.max(box.right, b.right)
    box.top = Math.min(box.top, b.top)
    box.bottom = Math.max(box.bottom, b.bottom)
  }
  return { labels: found.map((p) => ({ ...p, over: covered(p.box, shapes) > 0 })), box }
}

function* offers(label: Label, width: number, height: number, em: number): Generator<Offer> {
  const offer = (at: Point, to: Point, far: number, worse: number, leads: boolean): Offer => {
    const reach = far * em + (Math.abs(to.x) * width + Math.abs(to.y) * height) / 2
    const centre = { x: at.x + to.x * reach, y: at.y + to.y * reach }
    const box = { left: centre.x - width / 2, right: centre.x + width / 2, top: centre.y - height / 2, bottom: centre.y + height / 2 }
    return { label, box, centre, worse, leader: leads ? [at, edge(at, centre, box)] : undefined }
  }
  for (const { at, out, off } of label.anchors) {
    yield offer(at, out, gap, off, false)
    yield offer(at, { x: -out.x, y: -out.y }, gap, off + 0.4, false)
    for (const far of ahead) {
      for (let turn = 0; turn < turns; turn++) yield offer(at, turned(out, (turn * 2 * Math.PI) / turns), far, leads + off + far / 3, true)
    }
  }
}

/** turned is a way turned by an angle; no way at all is one to the right. */
function turned(way: Anchor['out'], by: number): Point {
  const { x, y } = way.x || way.y ? way : { x: 1, y: 0 }
  return { x: Math.cos(by) * x - Math.sin(by) * y, y: Math.sin(by) * x + Math.cos(by) * y }
}

/** edge is where a leader to the middle of a box ends: at its frame. */
function edge(from: Point, centre: Point, box: Box): Point {
  const x = from.x - centre.x, y = from.y - centre.y
  const out = Math.min(1, leave(centre.x, x, box.left, box.right), leave(centre.y, y, box.top, box.bottom))
  return { x: centre.x + x * out, y: centre.y + y * out }
}

// cheapest looks at the best by themselves first: once one of them is not better than what was found, none that follows is.
function cheapest(set: Offer[], shapes: Shapes, others: Offer[]): Offer | undefined {
  let best: Offer | undefined, least = Infinity
  for (const p of set) {
    if (p.worse >= least) break
    let cost = p.worse + outside(p.box, shapes.box) / shapes.em + clashes * others.filter((o) => clash(p, o, 0.2 * shapes.em)).length
    if (cost < least) cost += covers * covered(p.box, shapes)
    if (cost < least && p.leader) cost += crosses * crossed(p.leader, p.label.part, shapes)
    if (cost < least) [best, least] = [p, cost]
  }
  return best
}

function clash(a: Offer, b: Offer, apart: number): boolean {
  const near = a.box.left < b.box.right + apart && b.box.left < a.box.right + apart && a.box.top < b.box.bottom + apart && b.box.top < a.box.bottom + apart
  const through = (leader: Offer['leader'], box: Box) => leader !== undefined && length(leader[0], leader[1], box) > 0
  return near || through(a.leader, b.box) || through(b.leader, a.box) || (a.leader !== undefined && b.leader !== undefined && cross(...a.leader, ...b.leader))
}

/** covered is how many lines lie in a box, and how much of them, in letters' heights. */
function covered(box: Box, shapes: Shapes): number {
  let sum = 0
  for (const s of shapes.strokes) {
    if (!meets(s.bounds, box)) continue
    let inside = 0
    for (let i = 1; i < s.points.length; i++) inside += length(s.points[i - 1]!, s.points[i]!, box)
    if (inside > 0) sum += (s.role === 'construction' ? pale : 1) * (1 + inside / shapes.em)
  }
  return sum
}

const meets = (a: Box, b: Box) => a.left <= b.right && b.left <= a.right && a.top <= b.bottom && b.top <= a.bottom

/** crossed counts the lines that a leader crosses, other than those of what it leads to. */
function crossed([from, to]: [Point, Point], part: string, shapes: Shapes): number {
  const around = { left: Math.min(from.x, to.x), right: Math.max(from.x, to.x), top: Math.min(from.y, to.y), bottom: Math.max(from.y, to.y) }
  let sum = 0
  for (const s of shapes.strokes) {
    if (s.part !== part && meets(s.bounds, around)) for (let i = 1; i < s.points.length; i++) if (!beside(s.points[i - 1]!, s.points[i]!, around) && cross(from, to, s.points[i - 1]!, s.points[i]!)) sum += s.role === 'construction' ? 0.3 : 1
  }
  return sum
}

function cross(a: Point, b: Point, c: Point, d: Point): boolean {
  const side = (p: Point, q: Point, r: Point) => (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x) > 0
  return side(a, b, c) !== side(a, b, d) && side(c, d, a) !== side(c, d, b)
}

/** beside tells that a line passes a box by on one side: most do, and that is soon told. */
const beside = (a: Point, b: Point, box: Box) =>
  (a.x < box.left && b.x < box.left) || (a.x > box.right && b.x > box.right) || (a.y < box.top && b.y < box.top) || (a.y > box.bottom && b.y > box.bottom)

/** length is how much of a line lies in a box. */
function length(a: Point, b: Point, box: Box): number {
  if (beside(a, b, box)) return 0
  const x = b.x - a.x, y = b.y - a.y
  const from = Math.max(0, enter(a.x, x, box.left, box.right), enter(a.y, y, box.top, box.bottom))
  const to = Math.min(1, leave(a.x, x, box.left, box.right), leave(a.y, y, box.top, box.bottom))
  return to > from ? (to - from) * Math.hypot(x, y) : 0
}

// enter and leave are the shares of a way at which one of its coordinates comes between two values, and goes.
const enter = (at: number, by: number, least: number, most: number) => (by === 0 ? -Infinity : ((by > 0 ? least : most) - at) / by)
const leave = (at: number, by: number, least: number, most: number) => (by === 0 ? Infinity : ((by > 0 ? most : least) - at) / by)

const outside = (b: Box, box: Box) =>
  Math.max(0, box.left - b.left) + Math.max(0, b.right - box.right) + Math.max(0, box.top - b.top) + Math.max(0, b.bottom - box.bottom)
