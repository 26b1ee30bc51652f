// The trade's words for what is set, and from where to where it is measured.
import { t } from './words'

/** quantity is its name. */
export const quantity = (key: string): string => named(key) ?? t('Setting')

/** quantityOf is the name of what a field of the API holds, of which this page speaks: `given.stick_out_mm`. */
export const quantityOf = (field: string): string | undefined => (/\[[1-9]\d*\]\.front_angle_deg$/.test(field) ? t('Front angle') : named(bare(field)))

/** bare is a field's own word, where this page has none. */
export const bare = (field: string): string => field.replace(/^.*\.|_(mm|deg)$/g, '')

function named(key: string): string | undefined {
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
    case 'front_angle': return t('Edge angle')
    case 'reading': return t('Bevel reading')
    case 'included_front_angle': case 'included_reading': return t('Included angle')
    case 'diameter': return t('Diameter')
    case 'around': return t('Length around')
    default: return undefined
  }
}

/** measuredFrom says from where to where; of what ends at a support the API says where. */
export function measuredFrom(key: string, to: string): string {
  switch (key) {
    case 'stick_out': return t('From the holder’s front face to the nose of the tool')
    case 'seat_to_nose': return t('Check it: from the handle’s seat to the nose of the tool')
    case 'leg_angle': return t('From the tool’s axis to the leg')
    case 'leg_position': return t('The mark on the holder')
    case 'slide': return t('What the scale of the slide reads')
    case 'wheel_gap': return t('The shortest way from the wheel {to}', { to })
    case 'wheel_gap_far': return t('The shortest way from the wheel to the far side of the bar')
    case 'pivot_to_axle': return t('From the axle to the middle of bar or ball')
    case 'face_distance': return t('Level, from the wheel’s face at axle height {to}', { to })
    case 'height': return t('From the machine’s reference surface up {to}', { to })
    case 'platform_tilt': return t('Below 0° it falls towards you')
    case 'platform_to_axle': return t('Square to the platform, from the axle to its surface')
    default: return ''
  }
}
