// Package words says things in the languages there are: English, German and Spanish.
//
// A text stands in English where it is said, and is the key of its translations in de.json and es.json; English needs no catalogue. Whole
// sentences are translated, not words, wherever a word would change its form; names of things that go into a sentence stand in it so that
// they need not (in German without an article, in Spanish with one). Numbers are printed by the [Language], so that they have its decimal
// mark. What people called their things, and ids, stay as they are.
//
// The translations are our own. They follow ISO 3002-1's German and Spanish terms where it has some, and otherwise what woodturners and
// machine shops say as far as we know it; no native turner has reviewed them.
//
// The words of the trade, the same everywhere:
//
//	English               German                        Spanish
//	edge angle            Schneidenwinkel               ángulo del filo
//	wedge angle           Keilwinkel (DIN 6581)         ángulo de cuña
//	front angle           Frontwinkel                   ángulo frontal
//	bevel reading         Fasenablesung                 lectura del bisel
//	included angle        Gesamtwinkel                  ángulo total
//	reference line        Bezugslinie                   línea de referencia
//	keener, blunter       spitzer, stumpfer             más agudo, más obtuso
//	edge                  Schneide                      filo
//	bevel                 Fase                          bisel
//	micro bevel           Mikrofase                     microbisel
//	land                  Schneidfase                   faja
//	relief                Freischliff                   alivio
//	facet                 Facette                       faceta
//	corner                Kante                         arista
//	bevel heel            Ferse                         talón
//	softened              verrundet                     redondeado
//	hollow grind          Hohlschliff                   afilado cóncavo
//	nose                  Spitze                        punta
//	wing                  Flügel                        ala
//	setback               Rückversatz                   retroceso
//	flute, flute floor    Nut, Nutgrund                 canal, fondo del canal
//	steel's depth         Stahldicke                    profundidad del acero
//	chord                 Sehne                         cuerda
//	blade                 Klinge                        hoja
//	shaft                 Schaft                        vástago
//	stick-out             Überstand                     voladizo
//	holder                Halter                        portaútil
//	swing holder          Schwenkhalter                 portaútil basculante
//	clamp                 Klemmhalter                   abrazadera
//	leg, leg angle        Schenkel, Schenkelwinkel      pata, ángulo de la pata
//	leg position          Raste                         posición de la pata
//	seat                  Sitz                          asiento
//	support               Auflage                       soporte
//	bar                   Stange                        barra
//	pocket                Tasche                        alojamiento
//	platform, its tilt    Plattform, Neigung            plataforma, inclinación
//	slide                 Schlitten                     carro
//	adjuster              Stellschraube                 tornillo de ajuste
//	turn, play            Umdrehung, Spiel              vuelta, juego
//	pivot                 Drehpunkt                     punto de giro
//	wheel                 Scheibe                       muela
//	flat abrasive         ebene Schleiffläche           abrasivo plano
//	axle                  Scheibenachse, Achse          eje
//	rim                   Scheibenumfang                periferia
//	wheel gap             Scheibenabstand               distancia a la muela
//	rest gap              Auflagespalt                  separación del apoyo
//	station               Station                       estación
//	locked                gesperrt                      bloqueada
//	recipe, revision      Rezept, Revision              receta, revisión
//	block, shim           Distanzblock, Passblech       bloque, calce
//	gauge                 Lehre                         plantilla
//	stick-out block       Überstandlehre                bloque de voladizo
//	bevel card, notch     Fasenlehre, Kerbe             plantilla de bisel, muesca
//	leg template          Schenkellehre                 plantilla de la pata
//	stop                  Anschlag                      tope
//	light (at a gauge)    Lichtspalt                    luz
//	label                 Etikett                       etiqueta
//	sheet, volume         Blatt, Band                   hoja, volumen
//	protractor            Winkelmesser                  transportador
//	doubt                 Unsicherheit                  incertidumbre
//	wear                  Abnutzung                     desgaste
//	dressing              abrichten                     reavivar (diamantar)
//	burr                  Grat                          rebaba
//	superabrasive         Superschleifmittel            superabrasivo
//	high-speed steel      Schnellarbeitsstahl (HSS)     acero rápido (HSS)
//	carbon steel          Kohlenstoffstahl              acero al carbono
//	spindle roughing      Schruppröhre für Langholz     gubia de desbaste para torneado
//	gouge                                               entre puntos
//	bowl, bowl gouge      Schale, Schalenröhre          cuenco, gubia para cuencos
//	spindle gouge         Formröhre                     gubia de perfilar
//	hollowing gouge       Aushöhlröhre                  gubia de vaciado
//	skew                  Schrägmeißel                  formón oblicuo
//	parting tool          Abstechstahl                  formón de tronzar
//	scraper               Schaber                       rasqueta
//	spindle               Spindel                       husillo
//	sharpening            Schärfen                      afilado
//	ink test              Tuscheprobe                   prueba de tinta
package words
