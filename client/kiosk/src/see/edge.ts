// A finished edge as the pages that show it need it: what the API sent, looked at once.
import { list, num, text } from '../api/read'
import type { Edge, EdgePoint } from '../api/types'

export interface Pose {
  /** Degrees, from lying level with the handle straight out from the wheel. */
  yaw: number
  pitch: number
  roll: number
  /** The nose: out from the axle, up, along the axle. mm */
  nose: [number, number, number]
}

export interface Place {
  along: number
  /** back, up, side from the nose, mm */
  at: [number, number, number]
  wedge: number | undefined
  pose: Pose | undefined
  point: EdgePoint
}

export interface Scale {
  keen: number
  blunt: number
}

/** named are the places whose numbers are always told, by how far along their wing they are. */
export const named = [-100, -50, 0, 50, 100] as const

const mostPoints = 513
const farthest = 2000 // mm from the nose or the axle: whatever is further is no tool on a grinder

/** places of an edge that can be drawn, from −side to +side. */
export function placesOf(edge: Edge | undefined): Place[] {
  return list(edge?.points, mostPoints).flatMap((point) => {
    const along = num(point.alongPercent), at = near(point.backMm, point.upMm, point.sideMm)
    return along === undefined || !at ? [] : [{ along, at, wedge: point.reached === true ? num(point.wedgeAngleDeg) : undefined, pose: poseOf(point), point }]
  })
}

/** placeAt is the place nearest to a share of a wing. */
export const placeAt = (places: readonly Place[], along: number): Place | undefined =>
  places.reduce<Place | undefined>((best, p) => (best && Math.abs(best.along - along) <= Math.abs(p.along - along) ? best : p), undefined)

/** scaleOf goes from the keenest angle to the bluntest. */
export function scaleOf(edge: Edge | undefined): Scale | undefined {
  const keen = num(edge?.summary?.leastWedgeAngleDeg), blunt = num(edge?.summary?.mostWedgeAngleDeg)
  return keen === undefined || blunt === undefined || blunt < keen ? undefined : { keen, blunt }
}

function poseOf(point: EdgePoint): Pose | undefined {
  const p = point.pose, nose = near(p?.noseOutMm, p?.noseUpMm, p?.noseAsideMm)
  const yaw = num(p?.yawDeg), pitch = num(p?.pitchDeg), roll = num(p?.rollDeg)
  return nose && yaw !== undefined && pitch !== undefined && roll !== undefined ? { nose, yaw, pitch, roll } : undefined
}

function near(x: unknown, y: unknown, z: unknown): [number, number, number] | undefined {
  const [a, b, c] = [num(x), num(y), num(z)]
  return a === undefined || b === undefined || c === undefined || Math.max(Math.abs(a), Math.abs(b), Math.abs(c)) > farthest ? undefined : [a, b, c]
}

/** meshOf is the solid's file, or nothing where there is none that can be read. */
export function meshOf(edge: Edge | undefined): ArrayBuffer | undefined {
  const said = text(edge?.mesh?.gltf, largestMesh)
  if (said === '' || said.length > largestMesh) return undefined
  try {
    const letters = atob(said.replace(/-/g, '+').replace(/_/g, '/'))
    return Uint8Array.from(letters, (c) => c.charCodeAt(0)).buffer
  } catch {
    return undefined
  }
}

const largestMesh = 7_000_000 // letters
