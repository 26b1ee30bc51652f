// The edge itself: a band with the colour of the wedge angle, cased so that it stands off the steel. Where the wheel does not reach, only the
// casing is left.
import { Group } from 'three'
import { LineMaterial } from 'three/examples/jsm/lines/LineMaterial.js'
import { LineSegments2 } from 'three/examples/jsm/lines/LineSegments2.js'
import { LineSegmentsGeometry } from 'three/examples/jsm/lines/LineSegmentsGeometry.js'
import { Color, SRGBColorSpace } from 'three'
import type { Place, Scale } from './edge'
import { colour, share } from './scale'
import type { Look } from './solid'

const wide = 8 // px
const casing = 4 // px, both sides together
const nearer = -9000 // units of depth, so that the band lies on the steel and not half in it

export function band(places: readonly Place[], scale: Scale, look: Look): Group {
  const group = new Group(), shown = new Color()
  const cased: number[] = [], ground: number[] = [], colours: number[] = []
  places.slice(1).forEach((to, i) => {
    const from = places[i]!
    cased.push(...from.at, ...to.at)
    if (from.wedge === undefined || to.wedge === undefined) return
    ground.push(...from.at, ...to.at)
    for (const p of [from, to]) colours.push(...shown.setRGB(...colour(share(p.wedge!, scale)), SRGBColorSpace).toArray())
  })
  const extra = look.strong ? 3 : 0
  group.add(line(cased, wide + casing + extra, { color: look.dark ? '#05090a' : look.ink, depthWrite: false }))
  if (ground.length > 0) group.add(line(ground, wide + extra, { vertexColors: true }, colours))
  group.children.forEach((child, i) => (child.renderOrder = 1 + i)) // the colour over its casing
  return group
}

function line(points: number[], linewidth: number, dress: { color?: string; vertexColors?: boolean; depthWrite?: boolean }, colours?: number[]): LineSegments2 {
  const geometry = new LineSegmentsGeometry()
  geometry.setPositions(points)
  if (colours) geometry.setColors(colours)
  return new LineSegments2(geometry, new LineMaterial({ ...dress, linewidth, polygonOffset: true, polygonOffsetFactor: 0, polygonOffsetUnits: nearer }))
}
