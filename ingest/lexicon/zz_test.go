package lexicon

import (
	"bufio"
	"fmt"
	"os"
	"sort"
	"testing"
)

func TestZZ(t *testing.T) {
	r := builtin(t)
	f, _ := os.Open("/tmp/lx/all.txt")
	sc := bufio.NewScanner(f)
	sc.Buffer(nil, 1<<22)
	n := map[string]int{}
	sp := map[string]int{}
	for sc.Scan() {
		for _, tk := range r.tokenise(sc.Text(), nil) {
			w := sc.Text()[tk.start:tk.end]
			if tk.fixed {
				n[w+" > "+r.table.words[tk.word].text]++
			}
		}
		toks := r.tokenise(sc.Text(), nil)
		for i := 1; i < len(toks); i++ {
			if toks[i].start == toks[i-1].start {
				k := sc.Text()[toks[i].start:toks[i].end]
				s := k + " ="
				for j := i - 1; j < len(toks) && toks[j].start == toks[i].start; j++ {
					s += " " + r.table.words[toks[j].word].text
				}
				if i == 1 || i > 1 && (i < 2 || toks[i-2].start != toks[i].start) {
					sp[s]++
				}
			}
		}
	}
	for name, m := range map[string]map[string]int{"typo": n, "split": sp} {
		var ks []string
		for k := range m {
			ks = append(ks, k)
		}
		sort.Slice(ks, func(i, j int) bool { return m[ks[i]] > m[ks[j]] || m[ks[i]] == m[ks[j]] && ks[i] < ks[j] })
		o, _ := os.Create("/tmp/lx/" + name + ".txt")
		for _, k := range ks {
			fmt.Fprintln(o, m[k], k)
		}
		o.Close()
	}
}
