// Places of an edge and poses of a tool in words. Left and right are those of whoever looks at the nose with the flute up, as the API draws it.
import { num } from '../api/read'
import { degrees, length } from '../format'
import { t } from '../words'
import type { Place } from './edge'

/** placeName is a place on the edge. */
export function placeName(along: number): string {
  const right = along > 0, percent = Math.round(Math.abs(along))
  if (percent === 0) return t('Nose')
  if (percent === 100) return right ? t('Right wing, end') : t('Left wing, end')
  if (percent === 50) return right ? t('Right wing, halfway') : t('Left wing, halfway')
  return right ? t('Right wing, {n} % of the way', { n: percent }) : t('Left wing, {n} % of the way', { n: percent })
}

/** shortName is the same on the picture. */
export function shortName(along: number): string {
  if (Math.round(along) === 0) return t('Nose')
  if (Math.abs(along) === 100) return t('End')
  return t('Halfway')
}

/** wedgeOf is a place's number, or that the wheel does not reach it. */
export const wedgeOf = (place: Place | undefined) => (place?.wedge === undefined ? t('not reached') : degrees(place.wedge))

export interface Row {
  name: string
  value: string
}

/** standing says how the tool stands at a place, from how it stood at the nose. */
export function standing(place: Place | undefined): Row[] {
  const { point } = place ?? {}
  const roll = num(point?.rollDeg), yaw = num(point?.yawDeg), pitch = num(point?.pitchDeg), height = num(point?.contactHeightMm)
  const rows: Row[] = []
  if (roll !== undefined) rows.push({ name: none(roll) ? t('Not rolled') : roll > 0 ? t('Flute rolled to the right wing') : t('Flute rolled to the left wing'), value: size(roll) })
  if (yaw !== undefined) rows.push({ name: none(yaw) ? t('Handle not aside') : yaw > 0 ? t('Handle to the right wing’s side') : t('Handle to the left wing’s side'), value: size(yaw) })
  if (pitch !== undefined) rows.push({ name: none(pitch) ? t('Handle as high as at the nose') : pitch > 0 ? t('Handle higher than at the nose') : t('Handle lower than at the nose'), value: size(pitch) })
  if (height !== undefined) rows.push({ name: height < 0 ? t('Touches below axle height') : t('Touches above axle height'), value: length(Math.abs(height)) })
  return rows
}

const none = (deg: number) => Math.abs(deg) < 0.05
const size = (deg: number) => degrees(Math.abs(deg))
