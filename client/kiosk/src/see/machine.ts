// What the tool swings against: the wheel, and the tool put as the API says it stands.
import { BoxGeometry, Color, CylinderGeometry, EdgesGeometry, Euler, Group, LineBasicMaterial, LineSegments, MathUtils, Mesh, MeshLambertMaterial, Quaternion, Vector3 } from 'three'
import type { Pose } from './edge'
import type { Look } from './solid'

/** The wheel as somebody measured it; a flat abrasive has no radius. */
export interface Abrasive {
  radius: number
  width: number
}

const flatSize = 160 // mm of a flat abrasive that is drawn

/** wheel stands with its axle along z, or with its face at x = 0. */
export function wheel(of: Abrasive, look: Look): Group {
  const group = new Group(), round = of.radius > 0
  const shape = round ? new CylinderGeometry(of.radius, of.radius, of.width, 480, 1) : new BoxGeometry(8, flatSize, of.width)
  if (round) shape.rotateX(Math.PI / 2)
  else shape.translate(-4, 0, 0)
  const paint = new MeshLambertMaterial({ color: new Color(look.dark ? '#5a6468' : '#e6e3d9'), polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 })
  group.add(new Mesh(shape, paint), new LineSegments(new EdgesGeometry(shape, 30), new LineBasicMaterial({ color: look.ink, transparent: true, opacity: look.strong ? 1 : 0.5 })))
  return group
}

/** turnOf is a pose's turn: rolled first, then pitched, then yawed; yaw is positive with the handle to +side, which is a turn about up the other way. */
export const turnOf = (p: Pose) =>
  new Quaternion().setFromEuler(new Euler(MathUtils.degToRad(p.roll), -MathUtils.degToRad(p.yaw), MathUtils.degToRad(p.pitch), 'YZX'))

/** stand puts a tool between two poses that follow one another. */
export function stand(tool: Group, from: Pose, to: Pose, part: number): void {
  tool.quaternion.copy(turnOf(from)).slerp(turnOf(to), part)
  tool.position.set(...from.nose).lerp(new Vector3(...to.nose), part)
}
