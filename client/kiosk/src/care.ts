// The screens that look after the shop: loaded together when one of them is asked for.
import './care/inspections'
import './screens/care'
import './screens/entries'
import './screens/inspect'
import './screens/wear'
