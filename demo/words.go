package demo

// phrasing is how one language of the counter speaks of one component.
type phrasing struct {
	part  []string // on the part line
	found []string // the technician's finding
	says  []string // the customer, naming the component
}

// words by language and component. Only says exist in Spanish: shop one's visitors.
var words = map[string]map[string]phrasing{
	"en": {
		"display":            {[]string{"display assembly", "screen", "display"}, []string{"display cracked", "screen broken, no picture", "display dead"}, []string{"screen smashed", "cracked display, glass everywhere", "screen stays black, still rings"}},
		"battery":            {[]string{"battery", "batt"}, []string{"battery worn", "battery will not hold a charge", "battery swollen"}, []string{"battery flat by noon", "battery swollen", "needs a new battery"}},
		"charge-port":        {[]string{"charge port", "charging port"}, []string{"charging port worn", "charge port loose", "charging port full of lint"}, []string{"charging port wobbly, cable falls out", "charging port loose", "only charges when the charging port is held down"}},
		"earpiece":           {[]string{"earpiece", "ear speaker"}, []string{"earpiece dead", "earpiece weak", "earpiece crackles"}, []string{"earpiece silent on calls", "earpiece dead", "can't hear callers, earpiece gone"}},
		"loudspeaker":        {[]string{"loudspeaker"}, []string{"loudspeaker dead", "loudspeaker distorted", "loudspeaker crackles"}, []string{"loudspeaker crackles", "loudspeaker silent", "no ringtone, loudspeaker dead"}},
		"rear-camera":        {[]string{"rear camera", "back camera"}, []string{"rear camera won't focus", "back camera dead", "rear camera lens cracked"}, []string{"rear camera blurry", "back camera shows black"}},
		"front-camera":       {[]string{"front camera"}, []string{"front camera dead", "front camera foggy"}, []string{"front camera black", "selfie camera does not work"}},
		"microphone":         {[]string{"microphone", "mic"}, []string{"microphone dead", "microphone very weak"}, []string{"microphone dead, nobody hears me", "microphone faulty"}},
		"back-glass":         {[]string{"back glass"}, []string{"back glass broken", "back glass cracked"}, []string{"back glass shattered", "back glass cracked in the pocket"}},
		"power-button":       {[]string{"power button", "power button flex"}, []string{"power button stuck", "power button without click"}, []string{"power button stuck", "power button does nothing"}},
		"volume-buttons":     {[]string{"volume buttons", "volume flex"}, []string{"volume buttons dead", "volume button stuck"}, []string{"volume button stuck", "volume buttons do nothing"}},
		"sim-reader":         {[]string{"SIM reader"}, []string{"SIM reader pins bent", "SIM reader dead"}, []string{"SIM reader broken", "SIM reader bent, no SIM found"}},
		"vibration-motor":    {[]string{"vibration motor"}, []string{"vibration motor dead", "vibration motor rattles"}, []string{"vibration motor rattles", "vibration motor dead"}},
		"proximity-sensor":   {[]string{"proximity sensor"}, []string{"proximity sensor dead"}, []string{"proximity sensor dead, cheek hangs up"}},
		"fingerprint-sensor": {[]string{"fingerprint sensor"}, []string{"fingerprint sensor dead"}, []string{"fingerprint sensor no longer works"}},
		"mainboard":          {[]string{"mainboard"}, []string{"mainboard short", "mainboard dead"}, []string{"told elsewhere that the mainboard is dead"}},
		"software":           {nil, []string{"software corrupted, reinstalled", "software update stuck"}, []string{"software update hangs", "software trouble after update"}},
		"liquid":             {nil, []string{"liquid damage", "water damage"}, []string{"water damage", "liquid damage, coffee"}},
		"keyboard":           {[]string{"keyboard"}, []string{"keyboard rows dead", "keyboard keys stuck"}, []string{"keyboard keys stuck", "half the keyboard dead"}},
		"hinge":              {[]string{"hinge", "hinge set"}, []string{"hinge broken out", "hinge cracked"}, []string{"hinge broken", "left hinge cracked"}},
		"storage":            {[]string{"SSD", "storage"}, []string{"SSD failing", "storage not found"}, []string{"SSD not found at boot", "hard drive clicks"}},
		"fan":                {[]string{"fan"}, []string{"fan blocked", "fan bearing gone"}, []string{"fan screams", "fan very loud"}},
		"touchpad":           {[]string{"touchpad"}, []string{"touchpad dead"}, []string{"touchpad jumps", "touchpad dead"}},
		"memory":             {[]string{"RAM module", "memory module"}, []string{"RAM faulty", "memory errors"}, []string{"RAM errors, beeps at start"}},
		"buttons":            {[]string{"buttons"}, []string{"buttons stuck", "side buttons dead"}, []string{"buttons stuck"}},
		"video-port":         {[]string{"video port", "HDMI port"}, []string{"video port bent", "HDMI port loose"}, []string{"HDMI port loose", "video port broken"}},
		"power-supply":       {[]string{"power supply"}, []string{"power supply dead"}, []string{"power supply hums and dies"}},
		"optical-drive":      {[]string{"optical drive"}, []string{"optical drive won't read"}, []string{"optical drive won't open"}},
	},
	"de": {
		"display":            {[]string{"Display", "Displayeinheit"}, []string{"Display gebrochen", "Display ohne Bild"}, []string{"Display gesprungen", "Display bleibt schwarz"}},
		"battery":            {[]string{"Akku"}, []string{"Akku verschlissen", "Akku aufgebläht"}, []string{"Akku hält nicht mehr", "Akku aufgebläht"}},
		"charge-port":        {[]string{"Ladebuchse"}, []string{"Ladebuchse ausgeleiert", "Ladebuchse verschmutzt"}, []string{"Ladebuchse wackelt", "Ladebuchse defekt, lädt nur schräg"}},
		"earpiece":           {[]string{"Hörmuschel"}, []string{"Hörmuschel tot", "Hörmuschel zu leise"}, []string{"Hörmuschel stumm beim Telefonieren", "Hörmuschel defekt"}},
		"loudspeaker":        {[]string{"unterer Lautsprecher"}, []string{"unterer Lautsprecher tot", "unterer Lautsprecher krächzt"}, []string{"unterer Lautsprecher krächzt", "unterer Lautsprecher stumm"}},
		"rear-camera":        {[]string{"Rückkamera"}, []string{"Rückkamera unscharf", "Rückkamera defekt"}, []string{"Rückkamera unscharf"}},
		"front-camera":       {[]string{"Frontkamera"}, []string{"Frontkamera defekt"}, []string{"Frontkamera schwarz"}},
		"microphone":         {[]string{"Mikrofon"}, []string{"Mikrofon tot", "Mikrofon zu leise"}, []string{"Mikrofon geht nicht, keiner hört mich"}},
		"back-glass":         {[]string{"Rückglas"}, []string{"Rückglas gebrochen"}, []string{"Rückglas gesprungen"}},
		"power-button":       {[]string{"Einschalttaste"}, []string{"Einschalttaste klemmt"}, []string{"Einschalttaste reagiert nicht"}},
		"volume-buttons":     {[]string{"Lautstärketasten"}, []string{"Lautstärketasten defekt"}, []string{"Lautstärketaste klemmt"}},
		"sim-reader":         {[]string{"SIM-Leser"}, []string{"SIM-Leser liest nicht"}, []string{"SIM-Leser defekt"}},
		"vibration-motor":    {[]string{"Vibrationsmotor"}, []string{"Vibrationsmotor defekt"}, []string{"Vibrationsmotor rasselt"}},
		"proximity-sensor":   {[]string{"Näherungssensor"}, []string{"Näherungssensor defekt"}, []string{"Näherungssensor defekt"}},
		"fingerprint-sensor": {[]string{"Fingerabdrucksensor"}, []string{"Fingerabdrucksensor defekt"}, []string{"Fingerabdrucksensor geht nicht"}},
		"mainboard":          {[]string{"Hauptplatine"}, []string{"Hauptplatine Kurzschluss", "Hauptplatine defekt"}, []string{"angeblich Hauptplatine defekt"}},
		"software":           {nil, []string{"Software neu aufgespielt", "Software beschädigt"}, []string{"Software hängt nach Update"}},
		"liquid":             {nil, []string{"Wasserschaden"}, []string{"Wasserschaden"}},
		"keyboard":           {[]string{"Tastatur"}, []string{"Tastatur teilweise ohne Funktion"}, []string{"Tastatur klemmt"}},
		"hinge":              {[]string{"Scharnier"}, []string{"Scharnier ausgebrochen"}, []string{"Scharnier gebrochen"}},
		"storage":            {[]string{"SSD", "Festplatte"}, []string{"SSD defekt", "Festplatte defekt"}, []string{"Festplatte klackert"}},
		"fan":                {[]string{"Lüfter"}, []string{"Lüfter blockiert", "Lüfter schleift"}, []string{"Lüfter sehr laut"}},
		"touchpad":           {[]string{"Touchpad"}, []string{"Touchpad tot"}, []string{"Touchpad springt"}},
		"memory":             {[]string{"Arbeitsspeicher"}, []string{"Arbeitsspeicher fehlerhaft"}, []string{"Arbeitsspeicher defekt, piept"}},
		"buttons":            {[]string{"Seitentasten"}, []string{"Seitentasten klemmen"}, []string{"Seitentasten klemmen"}},
		"video-port":         {[]string{"HDMI-Buchse"}, []string{"HDMI-Buchse defekt"}, []string{"HDMI-Buchse wackelt"}},
		"power-supply":       {[]string{"Netzteil"}, []string{"Netzteil tot"}, []string{"Netzteil brummt"}},
		"optical-drive":      {[]string{"optisches Laufwerk"}, []string{"optisches Laufwerk liest nicht"}, []string{"optisches Laufwerk klemmt"}},
	},
	"fr": {
		"display":     {says: []string{"écran cassé", "écran noir"}},
		"battery":     {says: []string{"batterie à plat à midi", "batterie gonflée"}},
		"charge-port": {says: []string{"connecteur de charge cassé"}},
		"earpiece":    {says: []string{"écouteur interne muet"}},
		"loudspeaker": {says: []string{"haut-parleur du bas grésille"}},
		"rear-camera": {says: []string{"caméra arrière floue"}},
		"microphone":  {says: []string{"micro en panne"}},
		"keyboard":    {says: []string{"clavier bloqué"}},
		"fan":         {says: []string{"ventilateur bruyant"}},
		"hinge":       {says: []string{"charnière cassée"}},
	},
	"es": {
		"display":     {says: []string{"pantalla rota"}},
		"battery":     {says: []string{"batería hinchada", "la batería no dura"}},
		"charge-port": {says: []string{"conector de carga roto"}},
		"earpiece":    {says: []string{"auricular no suena"}},
		"loudspeaker": {says: []string{"altavoz inferior no suena"}},
		"microphone":  {says: []string{"micrófono no funciona"}},
		"keyboard":    {says: []string{"teclado roto"}},
	},
}

// talk is what the counter writes besides components, by language.
type talk struct {
	and      string
	well     []string // found on a visit with no fault
	vague    []string // a customer who names nothing
	flicker  string   // what a customer says of a part that is well
	okay     string   // a battery that was looked at and is well
	notes    []string
	callback string // with a name and a phone number
}

var talks = map[string]talk{
	"en": {
		and:      " and ",
		well:     []string{"no fault found", "could not reproduce, tested two hours"},
		vague:    []string{"acts odd since the weekend", "does strange things, please look", "won't behave"},
		flicker:  "%s sometimes odd",
		okay:     "battery tested ok",
		notes:    []string{"customer waits", "asked for the old parts back", "data must stay", "screen replaced last year elsewhere", "came with its own charger", "paid by card", "second visit this year"},
		callback: "call %s on %s when done",
	},
	"de": {
		and:      " und ",
		well:     []string{"kein Fehler gefunden", "Fehler nicht nachvollziehbar"},
		vague:    []string{"spinnt seit dem Wochenende", "macht komische Sachen, bitte ansehen"},
		flicker:  "%s manchmal komisch",
		okay:     "Akku geprüft, i.O.",
		notes:    []string{"Kunde wartet", "Altteile mitgeben", "Daten behalten", "Display letztes Jahr getauscht", "bar bezahlt"},
		callback: "bitte %s anrufen, %s",
	},
	"fr": {
		and:      " et ",
		vague:    []string{"bizarre depuis dimanche", "fait n'importe quoi, à voir"},
		callback: "rappeler %s au %s",
	},
	"es": {
		and:      " y ",
		vague:    []string{"hace cosas raras desde ayer"},
		callback: "llamar a %s al %s",
	},
}
