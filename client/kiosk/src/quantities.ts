// The trade's words for what is set, and from where to where it is measured.
import { num } from './api/read'
import type { Station } from './api/types'
import { t } from './words'

/** quantity is its name. */
export function quantity(key: string): string {
  switch (key) {
    case 'stick_out': return t('Stick-out')
    case 'seat_to_nose': return t('Seat to nose')
    case 'leg_angle': return t('Leg angle')
    case 'leg_position': return t('Leg position')
    case 'slide': return t('Slide')
    case 'wheel_gap': return t('Wheel gap')
    case 'wheel_gap_far': return t('Wheel gap, far side')
    case 'pivot_to_axle': return t('Axle to pivot')
    case 'face_distance': return t('Distance from the wheel’s face')
    case 'height': return t('Height')
    case 'platform_tilt': return t('Platform tilt')
    case 'platform_to_axle': return t('Axle to platform')
    default: return t('Setting')
  }
}

/** Support is what the machine holds the tool by: a bar, a pocket or a platform. */
export type Support = NonNullable<Station['supports']>[number]

/** measuredFrom says from where to where. */
export function measuredFrom(key: string, support: Support | undefined): string {
  switch (key) {
    case 'stick_out': return t('From the holder’s front face to the nose of the tool')
    case 'seat_to_nose': return t('Check it: from the handle’s seat to the nose of the tool')
    case 'leg_angle': return t('From the tool’s axis to the leg')
    case 'leg_position': return t('The mark on the holder')
    case 'slide': return t('What the scale of the slide reads')
    case 'wheel_gap': return gapTo(support)
    case 'wheel_gap_far': return t('The shortest way from the wheel to the far side of the bar')
    case 'pivot_to_axle': return t('From the axle to the middle of bar or ball')
    case 'face_distance': return faceTo(support)
    case 'height': return support?.bar ? t('From the machine’s reference surface up to the top of the bar') : t('From the machine’s reference surface up to the middle of the ball')
    case 'platform_tilt': return t('Below 0° it falls towards you')
    case 'platform_to_axle': return t('Square to the platform, from the axle to its surface')
    default: return ''
  }
}

// isGauged: a shop may say where in a pocket it lays its gauge on; otherwise distances go to the middle of the ball.
const isGauged = (support: Support | undefined) => (num(support?.pocket?.gaugedSurfaceNearerMm) ?? 0) !== 0

function gapTo(support: Support | undefined): string {
  if (support?.bar) return t('The shortest way from the wheel to the near side of the bar')
  return isGauged(support) ? t('The shortest way from the wheel to the gauged place of the pocket') : t('The shortest way from the wheel to the middle of the ball, or to the seat of a handle')
}

function faceTo(support: Support | undefined): string {
  if (support?.bar) return t('Level, from the wheel’s face at axle height to the near side of the bar')
  return isGauged(support) ? t('Level, from the wheel’s face at axle height to the gauged place of the pocket') : t('Level, from the wheel’s face at axle height to the middle of the ball, or to the seat of a handle')
}
