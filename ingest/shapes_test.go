package ingest

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

const ticketsLog = `ticket,opened,model,class,outcome,found,minutes
1,2026-01-05,Lark 7,phone,repaired,display broken,45
2,2026-01-06,Lark 8,phone,repaired,,30
3,2026-01-07,Lark 8,phone,no-fault,,10
`

const linesLog = `ticket,part,part_no,supplier,lot,grade,quantity,unit_cost
2,battery,B-1,Northparts,L1,original,1,12.00
1,display,D-1,Northparts,L2,aftermarket,1,35.00
1,wobblestick,S-1,Northparts,,,4,0.10
9,battery,B-1,Northparts,L1,original,1,12.00
`

// Tickets and part lines in two files give the same history, whichever comes first.
func TestTwoFiles(t *testing.T) {
	for _, linesFirst := range []bool{false, true} {
		t.Run(fmt.Sprintf("lines first %v", linesFirst), func(t *testing.T) {
			logs := []string{write(t, "tickets.csv", ticketsLog), write(t, "lines.csv", linesLog)}
			if linesFirst {
				slices.Reverse(logs)
			}
			dir := t.TempDir()
			sum := ingest(t, dir, Options{}, logs...)
			if sum.Visits != 3 || sum.Quarantined != 1 {
				t.Errorf("%d visits, %d quarantined, want 3 and 1", sum.Visits, sum.Quarantined)
			}
			same(t, "faults", table(t, dir, "faults", "ticket, component, basis"), []string{"1 | display | part", "2 | battery | part"})
			same(t, "parts", table(t, dir, "parts", "ticket, component, part_no, lot, quantity, unit_cost"),
				[]string{"1 | - | S-1 | - | 4 | 0.1", "1 | display | D-1 | L2 | 1 | 35", "2 | battery | B-1 | L1 | 1 | 12"})
			same(t, "quarantine", table(t, dir, "quarantine", `file, line, "column", reason, found`), []string{"lines.csv | 5 | ticket | no-ticket-row | 9"})
		})
	}
}

// Part lines that name no shop join the one shop that has their ticket; where two have it, they wait.
func TestLinesWithoutShop(t *testing.T) {
	tickets := write(t, "tickets.csv", "ticket,shop,opened,model\n1,north,2026-01-05,Lark 7\n2,north,2026-01-05,Lark 7\n2,south,2026-01-06,Lark 8\n")
	lines := write(t, "lines.csv", "ticket,part\n1,display\n2,battery\n")
	dir := t.TempDir()
	ingest(t, dir, Options{}, lines, tickets)
	same(t, "visits", table(t, dir, "visits", "ticket, shop, model"), []string{"1 | north | Lark 7", "2 | north | Lark 7", "2 | south | Lark 8"})
	same(t, "parts", table(t, dir, "parts", "ticket, shop, component"), []string{"1 | north | display"})
	same(t, "quarantine", table(t, dir, "quarantine", "file, line, reason"), []string{"lines.csv | 3 | no-ticket-row"})
}

// A part line that a second log repeats is one line; one that the same log has twice, with
// something else to tell the rows apart, is two.
func TestPartLinesToldTwice(t *testing.T) {
	full := write(t, "full.csv", "ticket,opened,model,part,unit_cost,pos\n1,2026-01-05,Lark 7,battery,12,1\n1,2026-01-05,Lark 7,battery,12,2\n1,2026-01-05,Lark 7,display,30,3\n")
	lines := write(t, "lines.csv", "ticket,part,unit_cost\n1,battery,12\n1,fan,5\n")
	dir := t.TempDir()
	sum := ingest(t, dir, Options{}, full, lines)
	same(t, "parts", table(t, dir, "parts", "ticket, component, unit_cost"), []string{"1 | battery | 12", "1 | battery | 12", "1 | display | 30", "1 | fan | 5"})
	if sum.Files[0].Accepted != 3 || sum.Files[1].Accepted != 2 {
		t.Errorf("accepted %d and %d rows, want 3 and 2", sum.Files[0].Accepted, sum.Files[1].Accepted)
	}
}

func TestDuplicates(t *testing.T) {
	const row1, row2 = "1,2026-01-05,Lark 7,display\n", "2,2026-01-06,Lark 8,battery\n"
	for _, tc := range []struct {
		name      string
		logs      []string
		duplicate []int64
	}{
		{"next to each other", []string{row1 + row1 + row2}, []int64{1}},
		{"apart", []string{row1 + row2 + row1}, []int64{1}},
		{"in two files", []string{row1 + row2, row2 + "3,2026-01-07,Lark 8,fan\n"}, []int64{0, 1}},
		{"the same file twice", []string{row1 + row2, row1 + row2}, []int64{0, 2}},
		{"refused rows too", []string{row1 + "4,,Lark 7,fan\n4,,Lark 7,fan\n"}, []int64{1}},
		{"refused rows in two files", []string{row1 + "4,,Lark 7,fan\n", "4,,Lark 7,fan\n"}, []int64{0, 1}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var logs []string
			for i, l := range tc.logs {
				logs = append(logs, write(t, fmt.Sprintf("log%d.csv", i), "ticket,opened,model,part\n"+l))
			}
			dir := t.TempDir()
			sum := ingest(t, dir, Options{}, logs...)
			var got []int64
			for _, f := range sum.Files {
				got = append(got, f.Duplicate)
			}
			if !slices.Equal(got, tc.duplicate) {
				t.Errorf("duplicates %v, want %v", got, tc.duplicate)
			}
			if parts := table(t, dir, "parts", "ticket, component"); !slices.Contains(parts, "1 | display") || len(slices.Compact(parts)) != len(parts) {
				t.Errorf("parts %v", parts)
			}
		})
	}
}

// Of cells that contradict each other the last counts: files in the order given, then lines.
func TestContradictions(t *testing.T) {
	a := write(t, "a.csv", "ticket,opened,model,outcome,charge\n1,2026-01-05,Lark 7,open,\n2,2026-01-05,Lark 7,open,10\n1,2026-01-05,Lark 7,repaired,50\n")
	b := write(t, "b.csv", "ticket,opened,model,outcome,charge\n1,2026-01-04,Lark 7,,60\n")
	dir := t.TempDir()
	sum := ingest(t, dir, Options{}, a, b)
	same(t, "visits", table(t, dir, "visits", "ticket, strftime(opened, '%Y-%m-%d'), outcome, charge"),
		[]string{"1 | 2026-01-04 | repaired | 60", "2 | 2026-01-05 | open | 10"})
	var got []string
	for _, n := range sum.Notes {
		if n.Topic == "contradiction" {
			got = append(got, fmt.Sprintf("%s %d", n.Subject, n.Count))
		}
	}
	slices.Sort(got)
	same(t, "contradictions", got, []string{"charge 1", "opened 1", "outcome 1"})
}

func TestEmptiedCells(t *testing.T) {
	log := write(t, "log.csv", `ticket,opened,ready,collected,model,minutes,charge,serial,made_week,outcome,part,unit_cost
1,2026-01-05,2026-01-04,2026-02-31,Lark 7,-5,free,0000000,2026-W60,who knows,display,-3
2,2026-01-05 10:00,2026-01-05,2026-01-05 09:00,Lark 7,5,1.00,AB1234567,2026-W06,repaired,display,3
`)
	dir := t.TempDir()
	sum := ingest(t, dir, Options{}, log)
	same(t, "visits", table(t, dir, "visits", "ticket, strftime(ready AT TIME ZONE 'UTC', '%d %H:%M'), collected, bench_minutes, charge, made_week, outcome, device_key IS NULL"),
		[]string{"1 | - | - | - | - | - | - | true", "2 | 05 10:00 | - | 5 | 1 | 2026-W06 | repaired | false"})
	var got []string
	for _, n := range sum.Notes {
		if n.Topic == "emptied" {
			got = append(got, fmt.Sprintf("%s %d", n.Subject, n.Count))
		}
	}
	slices.Sort(got)
	same(t, "emptied", got, []string{"charge 1", "collected 1", "collected 1", "made_week 1", "minutes 1", "outcome 1", "ready 1", "serial 1", "unit_cost 1"})
}

func TestFaultRules(t *testing.T) {
	for _, tc := range []struct {
		name, row string
		want      []string
		unread    string
	}{
		{"part and finding together", `display,battery swollen,loudspeaker broken,repaired`, []string{"battery found", "display part"}, "false"},
		{"a part is the better basis", `display,display broken,,repaired`, []string{"display part"}, "false"},
		{"text where nothing else names one", `,,the loudspeaker is broken,repaired`, []string{"loudspeaker text"}, "false"},
		{"no text on a no-fault visit", `,,the loudspeaker is broken,no-fault`, nil, "false"},
		{"nothing readable", `,,hurlyburly,repaired`, nil, "true"},
		{"nothing said", `,,,repaired`, nil, "false"},
		{"no fault found", `,kein Fehler gefunden,the loudspeaker is broken,`, nil, "false"},
		{"no fault found, but a part fitted", `display,no fault found,,repaired`, []string{"display part"}, "false"},
		{"all well after the repair", `,all ok,the loudspeaker is broken,repaired`, []string{"loudspeaker text"}, "false"},
		{"vague beside a finding", `,battery swollen,won't turn on,repaired`, []string{"battery found"}, "false"},
		{"vague in the finding, told in the text", `,won't turn on,screen cracked,repaired`, []string{"display text"}, "false"},
		{"vague alone", `,,won't turn on,`, []string{"no-power text"}, "false"},
		{"nothing said in words", `,,n/a,repaired`, nil, "false"},
		{"several in one cell", `,"display, battery + charge port",,repaired`, []string{"battery found", "charge-port found", "display found"}, "false"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			dir := t.TempDir()
			ingest(t, dir, Options{}, write(t, "log.csv", "ticket,opened,model,class,part,found,fault,outcome\n1,2026-01-05,Lark 7,phone,"+tc.row+"\n"))
			same(t, "faults", table(t, dir, "faults", "component || ' ' || basis"), tc.want)
			same(t, "unread", table(t, dir, "visits", "unread"), []string{tc.unread})
		})
	}
}

// A finding that there is no fault is the outcome where none is told, and no value that nothing reads.
func TestNoFaultFound(t *testing.T) {
	dir := t.TempDir()
	sum := ingest(t, dir, Options{}, write(t, "log.csv", "ticket,opened,model,found,outcome\n1,2026-01-05,Lark 7,No fault found,\n2,2026-01-05,Lark 7,aucun défaut constaté,\n"+
		"3,2026-01-05,Lark 7,keine Fehler gefunden,declined\n4,2026-01-05,Lark 7,NFF,\n5,2026-01-05,Lark 7,screen cracked,\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, outcome"), []string{"1 | no-fault", "2 | no-fault", "3 | declined", "4 | no-fault", "5 | -"})
	for _, n := range sum.Notes {
		if n.Topic == "unread-value" {
			t.Errorf("listed as unread: %s", n.Subject)
		}
	}
}

// A grade that is said to be unknown is one; an empty cell says nothing.
func TestGradeUnknown(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "log.csv", "ticket,opened,model,part,grade\n1,2026-01-05,Lark 7,display,unknown\n2,2026-01-05,Lark 7,display,Unbekannt\n"+
		"3,2026-01-05,Lark 7,display,\n4,2026-01-05,Lark 7,display,-\n5,2026-01-05,Lark 7,display,original\n"))
	same(t, "parts", table(t, dir, "parts", "ticket, grade"), []string{"1 | unknown", "2 | unknown", "3 | -", "4 | -", "5 | original"})
}

// A kind of device in the only column of devices is its class.
func TestKindUnderDevice(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "log.csv", "Auftrag;Eingang;Gerät\n1;05.01.2026;Handy\n2;25.01.2026;Uhr\n3;25.01.2026;Lark 7\n4;25.01.2026;Tablet\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, class, model"), []string{"1 | phone | phone", "2 | watch | watch", "3 | - | Lark 7", "4 | tablet | tablet"})
}

// Several parts in one cell are several lines; their common price belongs to none of them.
func TestPartsInOneCell(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "log.csv", "ticket,opened,model,part,unit_cost,supplier\n1,2026-01-05,Lark 7,display + battery,40,Northparts\n"))
	same(t, "parts", table(t, dir, "parts", "component, unit_cost, supplier"), []string{"battery | - | Northparts", "display | - | Northparts"})
}

func TestCurrency(t *testing.T) {
	opt := Options{}
	opt.Settings.Currency = "CHF"
	dir := t.TempDir()
	ingest(t, dir, opt, write(t, "log.csv", "ticket,opened,model,charge,currency\n1,2026-01-05,Lark 7,40,\n2,2026-01-05,Lark 7,40,DKK\n3,2026-01-05,Lark 7,40 €,DKK\n4,2026-01-05,Lark 7,,DKK\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, charge, currency"), []string{"1 | 40 | CHF", "2 | 40 | DKK", "3 | 40 | EUR", "4 | - | -"})
}

func TestSerialPrefix(t *testing.T) {
	opt := Options{}
	opt.Settings.SerialPrefix = map[string]int{"lark": 3, "Corvo": 40}
	dir := t.TempDir()
	ingest(t, dir, opt, write(t, "log.csv", "ticket,opened,maker,model,serial\n1,2026-01-05,Lark,7,abc-1234567\n2,2026-01-05,Corvo,3,abc1234567\n3,2026-01-05,Tern,3,abc1234567\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, serial_prefix"), []string{"1 | ABC", "2 | -", "3 | -"})
	keys := table(t, dir, "visits", "hex(device_key)")
	if len(slices.Compact(keys)) != 1 || keys[0] == "-" {
		t.Errorf("one serial, differently written, has the keys %v", keys)
	}
}

func TestZone(t *testing.T) {
	opt := Options{}
	opt.Settings.Zone = "Europe/Lisbon"
	dir := t.TempDir()
	ingest(t, dir, opt, write(t, "log.csv", "ticket,opened,model\n1,2026-07-05 10:00,Lark 7\n2,2026-01-05 10:00,Lark 7\n3,2026-01-05T10:00:00+02:00,Lark 7\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, strftime(opened AT TIME ZONE 'UTC', '%m-%d %H:%M')"),
		[]string{"1 | 07-05 09:00", "2 | 01-05 10:00", "3 | 01-05 08:00"})
}

// Dates that need a whole column are settled by it; a column that can't tell stops the run.
func TestDateOrder(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "log.csv", "ticket;opened;ready;model\n1;03.04.2026;05.04.2026;Lark 7\n2;05.04.2026;25.04.2026;Lark 7\n"))
	same(t, "visits", table(t, dir, "visits", "strftime(opened, '%Y-%m-%d')"), []string{"2026-04-03", "2026-04-05"})

	unclear := write(t, "unclear.csv", "ticket,opened,model\n1,03/04/2026,Lark 7\n")
	fresh := t.TempDir() + "/history"
	_, err := Run(t.Context(), []string{unclear}, Options{History: fresh})
	if err == nil || !strings.Contains(err.Error(), unclear) || !strings.Contains(err.Error(), "--dates day-first") {
		t.Errorf("error %v, want the file and what to do", err)
	}
	opt := Options{Dates: "month-first"}
	ingest(t, fresh, opt, unclear)
	same(t, "visits", table(t, fresh, "visits", "strftime(opened, '%Y-%m-%d')"), []string{"2026-03-04"})
}

// A name without its accents is the name with them, where the log writes that, too.
func TestAccentsOfModels(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "log.csv", "ticket,opened,model\n1,2026-01-05,MOWE 3\n2,2026-01-05,Möwe 3\n3,2026-01-05,moewe3 64GB\n4,2026-01-05,Lark 7\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, model"), []string{"1 | Möwe 3", "2 | Möwe 3", "3 | Möwe 3", "4 | Lark 7"})
}
