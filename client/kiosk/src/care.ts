// The screens that look after the shop and its sheets: loaded together when one of them is asked for.
import './care/inspections'
import './screens/care'
import './screens/entries'
import './screens/inspect'
import './screens/sheet'
import './screens/wear'
