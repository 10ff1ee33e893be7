package demo

// noFault stands among the first faults for "nothing found": the visit is diagnosed, the device well.
const noFault = ""

// component says how one component of a class behaves when it fails.
type component struct {
	id      string
	weight  float64 // share among the first faults of the class
	code    string  // start of the part number; empty: no part is fitted
	cost    float64 // usual cost of the part, EUR
	minutes float64 // median bench minutes
	grades  []weighted
	family  bool // one part fits the whole family, else one part a model
}

var (
	usualGrades   = []weighted{{"aftermarket", 0.5}, {"original", 0.3}, {"pulled", 0.2}}
	displayGrades = []weighted{{"aftermarket", 0.42}, {"original", 0.30}, {"refurbished", 0.28}}
	batteryGrades = []weighted{{"aftermarket", 0.6}, {"original", 0.4}}
)

// gradeFactor multiplies a part's usual cost.
var gradeFactor = map[string]float64{"original": 1.25, "aftermarket": 1, "pulled": 0.9, "refurbished": 0.95}

// classes lists the first faults of each class. Weights of a class sum to 1; a rising component
// (truth 6) replaces its weight and scales the rest.
func classes() map[string][]component {
	return map[string][]component{
		"phone": {
			{id: "display", weight: 0.295, code: "DSP", cost: 52, minutes: 42, grades: displayGrades},
			{id: "battery", weight: 0.135, code: "BAT", cost: 14, minutes: 28, grades: batteryGrades, family: true},
			{id: "charge-port", weight: RisingFrom, code: "CHP", cost: 6.5, minutes: 34, grades: usualGrades},
			{id: PairA, weight: 0.095, code: "EAR", cost: 2.8, minutes: MinutesEarpiece, grades: usualGrades},
			{id: PairB, weight: 0.105, code: "LSP", cost: PriceUsual, minutes: MinutesLoudspeaker, grades: usualGrades},
			{id: "rear-camera", weight: 0.060, code: "RCM", cost: 19, minutes: 36, grades: usualGrades},
			{id: "microphone", weight: 0.045, code: "MIC", cost: 3.4, minutes: 32, grades: usualGrades},
			{id: "back-glass", weight: 0.060, code: "BGL", cost: 11, minutes: 40, grades: usualGrades},
			{id: "front-camera", weight: 0.018, code: "FCM", cost: 9, minutes: 30, grades: usualGrades},
			{id: "power-button", weight: 0.022, code: "PWB", cost: 4, minutes: 38, grades: usualGrades},
			{id: "volume-buttons", weight: 0.016, code: "VOL", cost: 4, minutes: 38, grades: usualGrades},
			{id: "sim-reader", weight: 0.010, code: "SIM", cost: 3.5, minutes: 45, grades: usualGrades},
			{id: "vibration-motor", weight: 0.008, code: "VIB", cost: 2.5, minutes: 25, grades: usualGrades},
			{id: "proximity-sensor", weight: 0.008, code: "PRX", cost: 4.5, minutes: 30, grades: usualGrades},
			{id: "fingerprint-sensor", weight: 0.008, code: "FPS", cost: 8, minutes: 30, grades: usualGrades},
			{id: "mainboard", weight: 0.018, minutes: 70},
			{id: "software", weight: 0.015, minutes: 25},
			{id: "liquid", weight: 0.012, minutes: 40},
			{id: noFault, weight: 0.040, minutes: 15},
		},
		"tablet": {
			{id: "display", weight: 0.390, code: "DSP", cost: 74, minutes: 60, grades: displayGrades},
			{id: "battery", weight: 0.190, code: "BAT", cost: 22, minutes: 50, grades: batteryGrades, family: true},
			{id: "charge-port", weight: 0.140, code: "CHP", cost: 8, minutes: 48, grades: usualGrades},
			{id: "loudspeaker", weight: 0.050, code: "LSP", cost: 5, minutes: 42, grades: usualGrades},
			{id: "power-button", weight: 0.050, code: "PWB", cost: 5, minutes: 45, grades: usualGrades},
			{id: "rear-camera", weight: 0.030, code: "RCM", cost: 15, minutes: 40, grades: usualGrades},
			{id: "mainboard", weight: 0.040, minutes: 80},
			{id: "software", weight: 0.060, minutes: 30},
			{id: noFault, weight: 0.050, minutes: 15},
		},
		"laptop": {
			{id: "display", weight: 0.150, code: "DSP", cost: 82, minutes: 55, grades: displayGrades},
			{id: "battery", weight: 0.180, code: "BAT", cost: 48, minutes: 25, grades: batteryGrades, family: true},
			{id: "keyboard", weight: 0.150, code: "KBD", cost: 31, minutes: 70, grades: usualGrades},
			{id: ShareComponent, weight: ShareClass, code: "HNG", cost: 17, minutes: 75, grades: usualGrades},
			{id: "storage", weight: 0.100, code: "STO", cost: 55, minutes: 45, grades: usualGrades},
			{id: "fan", weight: 0.090, code: "FAN", cost: 14, minutes: 40, grades: usualGrades},
			{id: "charge-port", weight: 0.070, code: "CHP", cost: 9, minutes: 55, grades: usualGrades},
			{id: "touchpad", weight: 0.040, code: "TPD", cost: 24, minutes: 45, grades: usualGrades},
			{id: "memory", weight: 0.030, code: "MEM", cost: 32, minutes: 20, grades: usualGrades},
			{id: "mainboard", weight: 0.040, minutes: 95},
			{id: "software", weight: 0.060, minutes: 40},
			{id: noFault, weight: 0.040, minutes: 20},
		},
		"watch": {
			{id: "display", weight: 0.420, code: "DSP", cost: 46, minutes: 50, grades: displayGrades},
			{id: "battery", weight: 0.380, code: "BAT", cost: 12, minutes: 35, grades: batteryGrades, family: true},
			{id: "buttons", weight: 0.100, code: "BTN", cost: 6, minutes: 45, grades: usualGrades},
			{id: "software", weight: 0.050, minutes: 25},
			{id: noFault, weight: 0.050, minutes: 15},
		},
		"console": {
			{id: DemandComponent, weight: consolePortShare, code: "VPT", cost: 7, minutes: 65, grades: usualGrades},
			{id: "fan", weight: 0.180, code: "FAN", cost: 13, minutes: 40, grades: usualGrades},
			{id: "power-supply", weight: 0.120, code: "PSU", cost: 38, minutes: 35, grades: usualGrades},
			{id: "optical-drive", weight: 0.100, code: "ODD", cost: 29, minutes: 50, grades: usualGrades},
			{id: "software", weight: 0.050, minutes: 30},
			{id: noFault, weight: 0.050, minutes: 15},
		},
	}
}

const (
	consolePortShare = 0.50
	secondFault      = 0.08 // chance of a second, unrelated fault on a visit that has a first
	repairedShare    = 0.91 // of the visits with a fault; the others are uneconomic, declined or sent back
	repeatOwner      = 0.05 // of the visits: a known device, long after its last visit
)
