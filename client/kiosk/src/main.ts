import './style/page.css'
import './app'
import { start } from './offline/start'

start()
