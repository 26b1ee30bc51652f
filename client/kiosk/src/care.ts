// The screens that look after the shop, its sheets and this device, which few jobs need: loaded together when one of them is asked for.
import './care/inspections'
import './screens/care'
import './screens/entries'
import './screens/inspect'
import './screens/options'
import './screens/sheet'
import './screens/wear'
