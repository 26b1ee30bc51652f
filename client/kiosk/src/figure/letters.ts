// Places for the letters of a drawing: upright boxes, each at the nearest free place to what it means, joined to it by a line where it is not
// beside it.
import type { Box, Label, Point, Shapes } from './shapes'

export interface Placed {
  label: Label
  centre: Point
  width: number
  height: number
  leader?: [Point, Point]
}

const perLetter = 0.47 // of the letters' height, on the wide side
const padding = 0.9
const onTheLine = 1.6 // cost of breaking the line that is meant, where there is no room beside it
const covering = 0.45 // cost of a point of a line under the letters; of a step away from what is meant it is about 1

/** placed finds a place for every label, and the box that holds all of them. */
export function placed(shapes: Shapes): { labels: Placed[]; box: Box } {
  const { em } = shapes, done: Placed[] = []
  for (const label of shapes.labels) {
    const width = (label.text.length * perLetter + padding) * em, height = 1.7 * em
    let best: Placed | undefined, least = Infinity
    for (const p of offers(label, width, height, em)) {
      const cost = p.worse + covering * covered(p, shapes) + done.reduce((sum, other) => sum + (meet(p, other, 0.2 * em) ? 100 : 0), 0) + outside(p, shapes.box) / em
      if (cost < least) [best, least] = [p, cost]
    }
    if (best) done.push(best)
  }
  const box = { ...shapes.box }
  for (const p of done) {
    box.left = Math.min(box.left, p.centre.x - p.width / 2)
    box.right = Math.max(box.right, p.centre.x + p.width / 2)
    box.top = Math.min(box.top, p.centre.y - p.height / 2)
    box.bottom = Math.max(box.bottom, p.centre.y + p.height / 2)
  }
  return { labels: done, box }
}

interface Offer extends Placed {
  worse: number
}

function* offers(label: Label, width: number, height: number, em: number): Generator<Offer> {
  const { at, out } = label
  yield { label, centre: at, width, height, worse: onTheLine }
  for (const far of [0.6, 2.5, 5, 8]) {
    for (let turn = 0; turn < 360; turn += 30) {
      const rad = (turn * Math.PI) / 180
      const to = { x: Math.cos(rad) * out.x - Math.sin(rad) * out.y || Math.cos(rad), y: Math.sin(rad) * out.x + Math.cos(rad) * out.y || Math.sin(rad) }
      const reach = far * em + Math.abs(to.x) * (width / 2) + Math.abs(to.y) * (height / 2)
      const centre = { x: at.x + to.x * reach, y: at.y + to.y * reach }
      const worse = far / 2 + (turn <= 180 ? turn : 360 - turn) / 45
      yield far < 1 ? { label, centre, width, height, worse } : { label, centre, width, height, worse, leader: [at, centre] }
    }
  }
}

function meet(a: Placed, b: Placed, apart: number): boolean {
  return Math.abs(a.centre.x - b.centre.x) < (a.width + b.width) / 2 + apart && Math.abs(a.centre.y - b.centre.y) < (a.height + b.height) / 2 + apart
}

// covered counts what lies under the letters; on the wheel, which is large and pale, they may stand.
function covered(p: Placed, shapes: Shapes): number {
  let n = 0
  for (const s of shapes.strokes) {
    if (s.role === 'construction' || s.part === p.label.part) continue
    for (const q of s.points) if (Math.abs(q.x - p.centre.x) < p.width / 2 && Math.abs(q.y - p.centre.y) < p.height / 2) n += s.head ? 4 : 1
  }
  return n
}

function outside(p: Placed, box: Box): number {
  return Math.max(0, box.left - p.centre.x + p.width / 2) + Math.max(0, p.centre.x + p.width / 2 - box.right) +
    Math.max(0, box.top - p.centre.y + p.height / 2) + Math.max(0, p.centre.y + p.height / 2 - box.bottom)
}
