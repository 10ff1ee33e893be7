package lexicon

import "testing"

// Invented sentences, one rule a group.
func TestReadRules(t *testing.T) {
	r := builtin(t)
	for _, group := range []struct {
		rule  string
		kind  Kind
		cases [][2]string
	}{
		{"said to be fine", Text, [][2]string{
			{"loudspeaker ok", ""},
			{"screen cracked, battery ok", "display"},
			{"battery tested ok", ""},
			{"tested ok: screen, touch, camera", ""},
			{"camera works fine but microphone dead", "microphone"},
			{"battery, charger and switch all ok. screen faulty", "display"},
			{"screen: ok; charging port: loose", "charge-port"},
			{"Lautsprecher in Ordnung, Mikrofon defekt", "microphone"},
			{"Akku geprüft, i.O., Display gebrochen", "display"},
			{"Kamera funktioniert, Blitz nicht", "camera"},
			{"luidspreker werkt goed, scherm gebarsten", "display"},
			{"batterie ok, écran cassé", "display"},
			{"højttaler virker fint, men skærmen er revnet", "display"},
			{"la cámara funciona bien, la pantalla está rota", "display"},
		}},
		{"not fine", Text, [][2]string{
			{"loudspeaker not ok", "loudspeaker"},
			{"camera not working properly", "camera"},
			{"Kamera funktioniert leider nicht mehr", "camera"},
			{"Mikrofon nicht in Ordnung", "microphone"},
			{"luidspreker werkt niet", "speaker"},
			{"le micro ne marche pas", "microphone"},
			{"la caméra ne fonctionne plus", "camera"},
			{"højttaler virker ikke", "speaker"},
			{"el micrófono no funciona bien", "microphone"},
			{"touch works sometimes", "touch"},
			{"no camera, no torch", "camera"},
		}},
		{"no fault", Text, [][2]string{
			{"no problem with screen", ""},
			{"no problem with screen or battery, mic dead", "microphone"},
			{"no screen damage, charging port bent", "charge-port"},
			{"kein Problem mit dem Akku, Display defekt", "display"},
			{"geen probleem met de batterij, scherm stuk", "display"},
			{"pas de problème de batterie, écran fissuré", "display"},
			{"ingen fejl på batteriet, skærm knust", "display"},
			{"sin problema de batería, pantalla rota", "display"},
			{"no water damage, screen cracked", "display"},
			{"no signs of liquid, battery dead", "battery"},
		}},
		{"not that one", Text, [][2]string{
			{"not the battery, charging port loose", "charge-port"},
			{"nicht der Akku, sondern die Ladebuchse", "charge-port"},
			{"it isn't the screen, it's the touch flex", "touch"},
			{"everything works except the earpiece", "earpiece"},
			{"alles geht außer Kamera", "camera"},
			{"tout fonctionne sauf le micro", "microphone"},
		}},
		{"both", Text, [][2]string{
			{"both speakers dead", "earpiece loudspeaker"},
			{"both cameras blurry", "front-camera rear-camera"},
			{"front and rear camera out of focus", "front-camera rear-camera"},
			{"beide Lautsprecher defekt", "earpiece loudspeaker"},
			{"les deux caméras sont floues", "front-camera rear-camera"},
			{"ambas cámaras borrosas", "front-camera rear-camera"},
			{"beide speakers kapot", "earpiece loudspeaker"},
			{"begge kameraer virker ikke", "front-camera rear-camera"},
			{"speaker dead", "speaker"},
			{"left speaker crackles", "speaker"},
			{"volume and power buttons stuck", "power-button volume-buttons"},
		}},
		{"earlier work", Text, [][2]string{
			{"screen replaced last year, now battery drains quickly", "battery"},
			{"battery already replaced elsewhere, still hot near the camera", "fan"},
			{"new battery fitted two months ago; mic dead", "microphone"},
			{"touch dead since screen replacement", "touch"},
			{"Display vor einem Jahr getauscht, jetzt Akku defekt", "battery"},
			{"scherm vorig jaar vervangen, nu laadpoort stuk", "charge-port"},
			{"écran déjà changé l'an dernier, batterie faible", "battery"},
			{"skærm skiftet sidste år, nu er kameraet i stykker", "camera"},
			{"pantalla cambiada el año pasado, ahora falla el altavoz", "speaker"},
			{"screen broke last week", "display"},
			{"replaced screen", "display"},
		}},
		{"brought along", Text, [][2]string{
			{"customer brought own charger, mic not working", "microphone"},
			{"came with charger and cable. screen cracked", "display"},
			{"mit Ladegerät abgegeben, Display defekt", "display"},
			{"avec chargeur, écran cassé", "display"},
			{"brought spare screen, please fit", "display"},
			{"charger broken", "charger"},
			{"needs new charger", "charger"},
		}},
		{"several in one cell", Found, [][2]string{
			{"screen, battery + port", "battery charge-port display"},
			{"LCD/touch/battery", "battery display touch"},
			{"screen; back glass; mic", "back-glass display microphone"},
			{"Display und Akku", "battery display"},
			{"battery & charging port", "battery charge-port"},
		}},
		{"part cells", Part, [][2]string{
			{"LCD assembly w/ frame black OEM", "display"},
			{"Battery 3500 mAh", "battery"},
			{"charging port flex cable", "charge-port"},
			{"Ladebuchse", "charge-port"},
			{"Akku (Original)", "battery"},
			{"screen protector", ""},
			{"battery adhesive", ""},
			{"loudspeaker ok", "loudspeaker"},
			{"rear camera lens", "rear-camera"},
			{"Ersatzdisplay", "display"},
		}},
		{"words that only look like it", Text, [][2]string{
			{"screen protector applied", ""},
			{"stuck on the home screen", ""},
			{"blue screen", "software"},
			{"did not charge customer", ""},
			{"in touch with customer", ""},
			{"customer will call later about the letter", ""},
			{"battery level 80 %", ""},
		}},
		{"compounds end in what they are", Text, [][2]string{
			{"Gehäuselüfter laut", "fan"},
			{"Ersatzladebuchse eingebaut", "charge-port"},
			{"Displayrahmen verbogen", "frame"},
			{"Akkuladegerät defekt", "charger"},
		}},
		{"signs and what explains them", Text, [][2]string{
			{"won't charge", "battery"},
			{"won't charge, port full of lint", "charge-port"},
			{"won't charge, smashed screen", "battery display"},
			{"no power", "battery"},
			{"no power, short on main board", "mainboard"},
			{"won't turn on", ""},
			{"no sound", "speaker"},
			{"no sound, earpiece mesh clogged", "earpiece"},
			{"battery ok, not charging", ""},
		}},
		{"misspelt", Text, [][2]string{
			{"bateery swollen", "battery"},
			{"micorphone dead", "microphone"},
			{"loudspeeker buzzing", "loudspeaker"},
			{"keybaord dead", "keyboard"},
			{"charing port bent", "charge-port"},
			{"Lautsprcher defekt", "speaker"},
			{"toestenbord kapot", "keyboard"},
			{"changed my mind", ""},
		}},
	} {
		for _, c := range group.cases {
			t.Run(group.rule, func(t *testing.T) { check(t, r, group.kind, c[0], c[1]) })
		}
	}
}
