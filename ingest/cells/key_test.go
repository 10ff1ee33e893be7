package cells

import "testing"

func TestBlank(t *testing.T) {
	for _, c := range []string{"", "  ", "-", "--", "—", "?", "n/a", "N.A.", "#N/A", "null", "None", "unknown", "Unbekannt", "inconnu", "onbekend", "desconocido", "ukendt", "0000-00-00", "0000-00-00 00:00:00", "\u00a0"} {
		if !Blank([]byte(c)) {
			t.Errorf("Blank(%q) = false", c)
		}
	}
	for _, c := range []string{"0", "x", "2026-05-03", "screen", "00", "nano"} {
		if Blank([]byte(c)) {
			t.Errorf("Blank(%q) = true", c)
		}
	}
}

func TestKeys(t *testing.T) {
	for s, want := range map[string]string{"Auftrags-Nr.": "auftragsnr", "Gerät": "gerat", "Straße": "strasse", "N° de série": "ndeserie", "Łódź": "lodz", "Größe": "grosse", "e\u0301t\u00e9": "ete"} {
		if got := Key(s); got != want {
			t.Errorf("Key(%q) = %q, want %q", s, got, want)
		}
	}
	for s, want := range map[string]string{"  Space   Grey! ": "space grey", "l'écran": "l ecran", "e\u0301 t\u00e9": "e te", "a--b": "a b"} {
		if got := string(AppendWords(nil, []byte(s))); got != want {
			t.Errorf("AppendWords(%q) = %q, want %q", s, got, want)
		}
	}
}

func BenchmarkBlank(b *testing.B) {
	list := [][]byte{[]byte("Lark 7 Plus"), []byte("screen"), []byte("2026-05-03"), []byte("unknown"), []byte("nova tab")}
	b.ReportAllocs()
	for b.Loop() {
		for _, c := range list {
			Blank(c)
		}
	}
}
