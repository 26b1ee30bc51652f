// Places for the numbers that follow their points on the picture: none over another, none outside, and none that jumps about without need.
export interface Point {
  x: number
  y: number
}

export interface Tag {
  /** What it belongs to, on the picture in px. */
  at: Point
  width: number
  height: number
}

export interface Spot {
  x: number // of its middle
  y: number
  way: number // which of the offers it is, to stay with
}

const turns = 16
const reaches = [26, 48, 76, 110, 150, 200] // px from the point to the tag's border
const apart = 6 // px between tags
const clear = 8 // px around a point

/** spotsFor finds a place for every tag on a picture: away from the middle `out`, off the points of `off`, and where it was before, if that does. */
export function spotsFor(tags: readonly Tag[], picture: { width: number; height: number }, out: Point, before: readonly (Spot | undefined)[], off: readonly Point[]): Spot[] {
  const done: (Spot & Tag)[] = []
  tags.forEach((tag, i) => {
    let best: Spot | undefined, least = Infinity
    for (const spot of offers(tag, picture)) {
      const cost = costOf(spot, tag, out, picture) + crowd(spot, tag, done, tags) + 70 * off.filter((p) => under(p, spot, tag)).length - (before[i]?.way === spot.way ? 30 : 0)
      if (cost < least) [best, least] = [spot, cost]
    }
    done.push({ ...tag, ...(best ?? { x: tag.at.x, y: tag.at.y, way: -1 }) })
  })
  return done.map(({ x, y, way }) => ({ x, y, way }))
}

function* offers(tag: Tag, picture: { width: number; height: number }): Generator<Spot> {
  let way = 0
  for (const reach of reaches) {
    for (let turn = 0; turn < turns; turn++) {
      const angle = (turn * 2 * Math.PI) / turns, x = Math.cos(angle), y = Math.sin(angle)
      // from the point until the tag's border is out of reach
      const far = reach + Math.min(tag.width / 2 / Math.max(1e-6, Math.abs(x)), tag.height / 2 / Math.max(1e-6, Math.abs(y)))
      yield { x: tag.at.x + x * far, y: tag.at.y + y * far, way: way++ }
    }
  }
  // where everything near is taken: rows and columns along the picture's borders
  for (let row = 0; row < 12; row++) {
    for (const column of [0, 1]) {
      const y = tag.height / 2 + apart + row * (tag.height + apart)
      if (y + tag.height / 2 <= picture.height) yield { x: column === 0 ? tag.width / 2 + apart : picture.width - tag.width / 2 - apart, y, way: way + 2 * row + column }
    }
  }
}

function costOf(spot: Spot, tag: Tag, out: Point, picture: { width: number; height: number }): number {
  const x = spot.x - tag.at.x, y = spot.y - tag.at.y, far = Math.hypot(x, y) || 1
  const away = Math.hypot(tag.at.x - out.x, tag.at.y - out.y)
  const towards = away < 1 ? 0 : (x * (out.x - tag.at.x) + y * (out.y - tag.at.y)) / (far * away) // 1: over the tool, −1: off it
  const beyond = Math.max(0, tag.width / 2 - spot.x) + Math.max(0, spot.x + tag.width / 2 - picture.width) + Math.max(0, tag.height / 2 - spot.y) + Math.max(0, spot.y + tag.height / 2 - picture.height)
  return far + 110 * (1 + towards) + (beyond > 0 ? 1e4 + 20 * beyond : 0)
}

// crowd is what it costs to lie over another tag, over a point, or to cross the line of another.
function crowd(spot: Spot, tag: Tag, done: readonly (Spot & Tag)[], tags: readonly Tag[]): number {
  let cost = 0
  for (const d of done) {
    const over = Math.min((tag.width + d.width) / 2 + apart - Math.abs(spot.x - d.x), (tag.height + d.height) / 2 + apart - Math.abs(spot.y - d.y))
    if (over > 0) cost += 1e6 + 1e3 * over
    if (cross(spot, tag.at, d, d.at)) cost += 150
  }
  for (const t of tags) {
    if (under(t.at, spot, tag)) cost += 200
  }
  return cost
}

const under = (p: Point, spot: Spot, tag: Tag) => Math.abs(p.x - spot.x) < tag.width / 2 + clear && Math.abs(p.y - spot.y) < tag.height / 2 + clear

function cross(a: Point, b: Point, c: Point, d: Point): boolean {
  const side = (p: Point, q: Point, r: Point) => Math.sign((q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x))
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0
}
