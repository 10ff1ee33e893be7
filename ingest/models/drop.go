package models

import "strings"

// dropStorage takes storage and memory sizes out: 64GB, 64 GB, 1TB, 8GB/256GB, 8/128GB, 8+128 GB,
// 128 Go, 64G. A number without its unit stays, and so does what looks like a model (5G, 7 Go).
func dropStorage(in []token) (kept []token, dropped []string) {
	gone := make([]bool, len(in))
	for i, t := range in {
		n, unit := numberUnit(t.key)
		switch {
		case gone[i] || n == "":
		case unit != "" && storage(n, unit, false):
			gone[i] = true
		case unit == "" && i+1 < len(in) && storage(n, in[i+1].key, true):
			gone[i], gone[i+1] = true, true
		default:
			continue
		}
		if gone[i] && i > 0 && pairedSize(in, gone, i) { // the memory in front: 8/128GB
			gone[i-1] = true
		}
		if next := i + 1; gone[i] && unit == "" {
			next++
			if next < len(in) && memoryWord(in[next].key) {
				gone[next] = true
			}
		} else if gone[i] && next < len(in) && memoryWord(in[next].key) {
			gone[next] = true
		}
	}
	for i, t := range in {
		if gone[i] {
			dropped = append(dropped, t.text)
		} else {
			kept = append(kept, t)
		}
	}
	return kept, dropped
}

// pairedSize tells the 8 of 8/128GB: a bare memory size that a slash, dash or plus ties to the storage behind it.
func pairedSize(in []token, gone []bool, i int) bool {
	return !gone[i-1] && in[i].glued && memorySizes[in[i-1].key] && i > 1
}

var memorySizes = map[string]bool{"1": true, "2": true, "3": true, "4": true, "6": true, "8": true, "12": true, "16": true, "18": true, "24": true, "32": true}

// storageSizes are the sizes that are sold; units that are words or letters of a name too (G, Go, To)
// count only behind one of these.
var storageSizes = map[string]bool{"16": true, "32": true, "64": true, "128": true, "256": true, "512": true, "1024": true}

// storage tells whether number and unit are a size. French octets written apart (7 Go) count only
// from 64 on: smaller ones may be a model called Go.
func storage(n, unit string, apart bool) bool {
	if n[0] == '0' {
		return false
	}
	switch unit {
	case "gb", "tb", "gib", "tib", "mb":
		return true
	case "go":
		return storageSizes[n] && (!apart || n != "16" && n != "32")
	case "to":
		return !apart && (n == "1" || n == "2" || n == "4")
	case "g":
		return !apart && storageSizes[n]
	}
	return false
}

// memoryWord tells a word that belongs to the size in front of it.
func memoryWord(key string) bool {
	switch key {
	case "ram", "rom", "ssd", "hdd", "emmc", "nvme", "storage", "memory", "speicher", "stockage", "opslag", "almacenamiento", "lager":
		return true
	}
	return false
}

// sizeUnit tells letters that make a number in front of them a size.
func sizeUnit(s string) bool {
	switch strings.ToLower(s) {
	case "gb", "tb", "gib", "tib", "mb", "go", "to":
		return true
	}
	return false
}

// numberUnit parts 64gb into 64 and gb; n is empty when the key starts with no digit.
func numberUnit(key string) (n, unit string) {
	end := len(key) - len(strings.TrimLeft(key, "0123456789"))
	return key[:end], key[end:]
}

// dropTrailing takes colours, regions and other words that tell nothing off the end of a name. Behind
// the first number they may stand anywhere, in front of it only the name's last words go. The first
// word of a name always stays.
func (f *Folder) dropTrailing(in []token) (kept []token, dropped []string) {
	firstNumber := len(in)
	for i, t := range in {
		if t.digits() {
			firstNumber = i
			break
		}
	}
	gone := make([]bool, len(in))
	end := len(in) // tokens from here on have gone
	for i := len(in) - 1; i >= 1; i-- {
		free := i > firstNumber || end == i+1
		if !free {
			continue
		}
		if n := f.tells(in, gone, i, i > firstNumber); n > 0 {
			for j := i - n + 1; j <= i; j++ {
				gone[j] = true
			}
			if end == i+1 {
				end = i - n + 1
			}
			i -= n - 1
		}
	}
	for i, t := range in {
		if gone[i] {
			dropped = append(dropped, t.text)
		} else {
			kept = append(kept, t)
		}
	}
	return kept, dropped
}

// tells gives how many tokens, ending at i, say nothing about the model; 0 when i stays.
func (f *Folder) tells(in []token, gone []bool, i int, numbered bool) int {
	key := in[i].key
	switch {
	case f.dropped[key]:
		return 1
	case i >= 2 && f.dropped[in[i-1].key+key]:
		return 2
	case f.colour(key):
		if i >= 2 && f.shades[in[i-1].key] && !in[i-1].digits() {
			return 2
		}
		return 1
	case i >= 2 && f.shades[key] && f.colour(in[i-1].key): // gris espacial, azul claro
		return 2
	case f.regions[key] && (numbered || in[i].bracket || in[i].glued):
		return 1
	case i >= 2 && f.regionWords[key] && f.regions[in[i-1].key] && (numbered || in[i-1].bracket):
		return 2
	}
	return 0
}

// colour tells a colour, also with its shade in one word: dunkelblau, lysegrøn, lightblue.
func (f *Folder) colour(key string) bool {
	if f.colours[key] {
		return true
	}
	for n := 3; n < len(key)-1; n++ {
		if f.shades[key[:n]] && f.colours[key[n:]] && !f.notColours[key] {
			return true
		}
	}
	return false
}
