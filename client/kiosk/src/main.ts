import './style/page.css'
import './app'
