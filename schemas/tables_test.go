package schemas

import (
	"reflect"
	"strings"
	"testing"

	"github.com/apache/arrow-go/v18/arrow"
)

func TestEveryFieldSaysWhatItIs(t *testing.T) {
	classes := map[string]bool{string(Public): true, string(Shop): true, string(Key): true, string(Masked): true}
	for name, s := range map[string]*arrow.Schema{
		"visits": Visits(), "faults": Faults(), "parts": Parts(), "quarantine": Quarantine(), "quality": Quality(),
	} {
		seen := map[string]bool{}
		for _, f := range s.Fields() {
			if seen[f.Name] {
				t.Errorf("%s.%s stands twice", name, f.Name)
			}
			seen[f.Name] = true
			for _, key := range []string{MetaUnit, MetaMeaning, MetaPrivacy} {
				if v, ok := f.Metadata.GetValue(key); !ok || v == "" {
					t.Errorf("%s.%s has no %s", name, f.Name, key)
				}
			}
			if v, _ := f.Metadata.GetValue(MetaPrivacy); !classes[v] {
				t.Errorf("%s.%s: privacy class %q is not one of ours", name, f.Name, v)
			}
		}
	}
}

// The columns other programs rely on; more may follow, none may go.
func TestResultColumnsAreKept(t *testing.T) {
	for _, tc := range []struct {
		row  any
		want string
	}{
		{Share{}, "class maker family model component faults visits share share_low share_high unread_low unread_high shrunk shrunk_low shrunk_high class_share ratio ratio_low ratio_high p q"},
		{Pair{}, "scope unit component_a component_b n both a_only b_only neither b_given_a b_given_a_low b_given_a_high a_given_b a_given_b_low a_given_b_high odds_ratio odds_low odds_high expected p q homogeneity_p"},
		{Time{}, "model component component_b jobs mttr mttr_low mttr_high median p90 gsd together_saves saves_low saves_high turnaround_jobs turnaround_open turnaround_median_hours turnaround_low turnaround_high"},
		{Trend{}, "month class model component faults visits share low high centre lower_limit upper_limit slope_p q direction"},
		{Batch{}, "component node level models window_start window_end observed visits expected relative_risk llr p recurrence_days link link_value link_odds link_low link_high link_q"},
		{Return{}, "component by value repairs returns back_30 back_30_low back_30_high back_90 back_90_low back_90_high back_180 back_180_low back_180_high ratio ratio_low ratio_high p q"},
		{Price{}, "model component lines cost_latest cost_median cost_q1 cost_q3 cost_usual z charge_median minutes_median margin_median price_floor currency"},
		{StockLine{}, "part component fits basis weekly_mean lead_days review_days order_up_to on_hand on_order order stockout_chance unit_cost line_cost with_part"},
		{QualityRow{}, "topic subject count note"},
	} {
		typ := reflect.TypeOf(tc.row)
		have := map[string]bool{}
		for i := range typ.NumField() {
			f := typ.Field(i)
			have[f.Tag.Get("csv")] = true
			if f.Tag.Get("csv") == "" || f.Tag.Get("doc") == "" {
				t.Errorf("%s.%s lacks a csv or doc tag", typ.Name(), f.Name)
			}
			switch f.Type {
			case reflect.TypeFor[string](), reflect.TypeFor[int](), reflect.TypeFor[Float]():
			default:
				t.Errorf("%s.%s has type %s", typ.Name(), f.Name, f.Type)
			}
		}
		for col := range strings.FieldsSeq(tc.want) {
			if !have[col] {
				t.Errorf("%s has no column %s", typ.Name(), col)
			}
		}
	}
}
