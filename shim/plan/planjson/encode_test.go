package planjson

import (
	"bytes"
	"encoding/json"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

var (
	mm, made, single, check = plantest.MM, plantest.Made, plantest.Single, plantest.Check
	eachAwkward, keys       = plantest.EachAwkward, plantest.Keys
)

func jsonOf(t *testing.T, p *plan.Plan) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Encode(&b, p))
	return b.Bytes()
}

// The contract of docs/json.md: these fields in this order, no others.
var contract = map[string][]string{
	"":                  {"policy", "margin_mm", "criteria", "jobs", "shopping", "trials", "drawn", "left_over", "cautions"},
	"criteria":          {"unserved", "bought", "cost", "near", "disturbed", "drawn", "deviation_mm", "changed"},
	"jobs[]":            {"job", "engine", "lifted", "units", "diameter_mm", "gauge", "valves", "fitting", "all_inside", "alike"},
	"jobs[].gauge":      {"stated", "step_mm", "leaf_mm", "stamp_mm", "mic_mm", "used_stamp_mm"},
	"jobs[].all_inside": {"probability", "error", "method", "valves", "others"},
	"jobs[].fitting[]":  {"step", "valve", "crank_deg", "out_mm", "to", "in_mm", "from", "temporary"},
	"shopping[]":        {"diameter_mm", "size_mm", "count", "price"},
	"drawn[]":           {"diameter_mm", "size_mm", "count"},
	"trials[]":          {"diameter_mm", "size_mm", "count"},
	"left_over[]": {
		"diameter_mm", "size_mm", "count",
	},
	"jobs[].valves[].reason_data": {"need_mm", "from_mm", "to_mm", "size_mm", "next_mm", "offer_mm", "where", "valve", "job"},
	"jobs[].valves[]": {
		"valve", "tight_mm", "loose_mm", "aim_mm", "clearance_mm", "installed_mm", "verdict",
		"open", "action", "shim_mm", "from", "predicted_mm", "near", "reason", "reading", "miked", "installed_miked", "ratio", "price",
	},
}

func TestJSONFields(t *testing.T) {
	found := keys(t, jsonOf(t, plantest.Everything(t)))
	for path, objects := range found {
		for _, names := range objects {
			if path == "jobs[].valves[].reason_data" { // what its kind has
				assert.Subset(t, contract[path], names)
				continue
			}
			names = slices.DeleteFunc(names, func(name string) bool { // only where there is one
				return name == "trial_mm" || name == "used" || name == "reason_kind" || name == "reason_data"
			})
			assert.Equal(t, contract[path], names, "in %q", path)
		}
	}
	for path := range contract {
		assert.NotEmpty(t, found[path], "no %q in the example", path)
	}
}

func TestJSONValues(t *testing.T) {
	e := single(t, "Plover 250")
	e.Cylinders = 2
	q := plan.Request{
		Margin: plan.DefaultMargin,
		Jobs:   []plan.JobRequest{{Name: "7", Engine: e, Check: check(t, e, "0.05 2.500", "0.276 2.450", "0.12-0.13 2.4975", "<0.05 2.600"), Lift: shim.LiftAll}},
		Box:    []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.425")}, Count: 3}},
	}
	want := `{
  "policy": "thrift",
  "margin_mm": 0.01,
  "criteria": {
    "unserved": 1,
    "bought": 0,
    "cost": 0,
    "near": 0,
    "disturbed": 0,
    "drawn": 1,
    "deviation_mm": 0.001,
    "changed": 2
  },
  "jobs": [
    {
      "job": "7",
      "engine": "Plover 250",
      "lifted": [
        "intake",
        "exhaust"
      ],
      "units": "mm",
      "diameter_mm": 8.9,
      "gauge": {"stated": false, "step_mm": 0.03, "leaf_mm": 0.005, "stamp_mm": 0.005, "mic_mm": 0.004, "used_stamp_mm": 0.015},
      "valves": [
        {
          "valve": "in1",
          "tight_mm": 0.1,
          "loose_mm": 0.15,
          "aim_mm": 0.125,
          "clearance_mm": 0.05,
          "installed_mm": 2.5,
          "verdict": "tight",
          "open": true,
          "action": "box",
          "shim_mm": 2.425,
          "from": null,
          "predicted_mm": 0.125,
          "near": false,
          "reason": "",
          "reading": "0.05", "miked": false, "installed_miked": false, "ratio": "1", "price": null
        },
        {
          "valve": "ex1",
          "tight_mm": 0.2,
          "loose_mm": 0.25,
          "aim_mm": 0.225,
          "clearance_mm": 0.276,
          "installed_mm": 2.45,
          "verdict": "loose",
          "open": true,
          "action": "swap",
          "shim_mm": 2.5,
          "from": "in1",
          "predicted_mm": 0.226,
          "near": false,
          "reason": "",
          "reading": "0.276", "miked": false, "used": true, "installed_miked": false, "ratio": "1", "price": null
        },
        {
          "valve": "in2",
          "tight_mm": 0.1,
          "loose_mm": 0.15,
          "aim_mm": 0.125,
          "clearance_mm": 0.125,
          "installed_mm": 2.4975,
          "verdict": "ok",
          "open": true,
          "action": "keep",
          "shim_mm": 2.4975,
          "from": null,
          "predicted_mm": 0.125,
          "near": false,
          "reason": "",
          "reading": "0.12-0.13", "miked": false, "installed_miked": false, "ratio": "1", "price": null
        },
        {
          "valve": "ex2",
          "tight_mm": 0.2,
          "loose_mm": 0.25,
          "aim_mm": 0.225,
          "clearance_mm": null,
          "installed_mm": 2.6,
          "verdict": "unmeasured",
          "open": true,
          "action": "leave",
          "shim_mm": 2.6,
          "from": null,
          "predicted_mm": null,
          "near": false,
          "reason": REASON, "reason_kind": "trial", "reason_data": {"size_mm": 2.45, "where": "pulled", "valve": "ex1"},
          "reading": "<0.05", "miked": false, "installed_miked": false, "ratio": "1", "price": null
        }
      ],
      "fitting": [
        {"step": 1, "valve": "in1", "crank_deg": null, "out_mm": 2.5, "to": "ex1", "in_mm": 2.425, "from": "box", "temporary": false},
        {"step": 2, "valve": "ex1", "crank_deg": null, "out_mm": 2.45, "to": "box", "in_mm": 2.5, "from": "in1", "temporary": false}
      ],
      "all_inside": {"probability": 0.8563, "error": 0, "method": "exact", "valves": 3, "others": 1},
      "alike": []
    }
  ],
  "shopping": [],
  "drawn": [
    {
      "diameter_mm": 8.9,
      "size_mm": 2.425,
      "count": 1
    }
  ],
  "left_over": [
    {
      "diameter_mm": 8.9,
      "size_mm": 2.45,
      "count": 1
    }
  ],
  "cautions": CAUTIONS
}
`
	p := made(t, q)
	cautions, err := json.MarshalIndent(shim.Cautions, "  ", "  ")
	require.NoError(t, err)
	text, err := json.Marshal(reason.Text(&p.Jobs[0].Valves[3], shim.MM, shim.MM))
	require.NoError(t, err)
	want = strings.NewReplacer("CAUTIONS", string(cautions), "REASON", string(text)).Replace(want)
	assert.Equal(t, tokens(t, []byte(want)), tokens(t, jsonOf(t, p)))
}

// tokens are a JSON text in its order, figures as they are written, without its layout.
func tokens(t *testing.T, text []byte) []json.Token {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var list []json.Token
	for {
		token, err := d.Token()
		if err == io.EOF {
			return list
		}
		require.NoError(t, err)
		list = append(list, token)
	}
}

// TestJSONListsAreLists: what is empty is [], never null.
func TestJSONListsAreLists(t *testing.T) {
	e := single(t, "Plover 250")
	fine := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "0.12 2.5", "0.22 2.5")}}})
	none := made(t, plan.Request{})
	for _, p := range []*plan.Plan{fine, none} {
		var back map[string]any
		require.NoError(t, json.Unmarshal(jsonOf(t, p), &back))
		for _, name := range []string{"shopping", "drawn", "left_over"} {
			assert.Equal(t, []any{}, back[name], name)
		}
		for _, j := range back["jobs"].([]any) {
			assert.Equal(t, []any{}, j.(map[string]any)["lifted"])
		}
		assert.NotEmpty(t, back["cautions"])
	}
}

// TestJSONLengthsAreExact reads every length of awkward plans back to the nanometre.
func TestJSONLengthsAreExact(t *testing.T) {
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		var back struct {
			Criteria struct {
				Deviation shim.Length `json:"deviation_mm"`
			}
			Jobs []struct {
				Job, Engine string
				Valves      []struct {
					Valve     shim.Valve
					Tight     shim.Length  `json:"tight_mm"`
					Loose     shim.Length  `json:"loose_mm"`
					Aim       shim.Length  `json:"aim_mm"`
					Clearance *shim.Length `json:"clearance_mm"`
					Installed shim.Length  `json:"installed_mm"`
					Shim      shim.Length  `json:"shim_mm"`
					Predicted *shim.Length `json:"predicted_mm"`
				}
			}
			Shopping []struct {
				Size  shim.Length `json:"size_mm"`
				Price json.Number
			}
		}
		require.NoError(t, json.Unmarshal(jsonOf(t, p), &back))
		assert.Equal(t, p.Criteria.Deviation, back.Criteria.Deviation)
		require.Len(t, back.Jobs, len(p.Jobs))
		for i := range p.Jobs {
			assert.Equal(t, p.Jobs[i].Job, back.Jobs[i].Job)
			assert.Equal(t, p.Jobs[i].Engine.Name, back.Jobs[i].Engine)
			require.Len(t, back.Jobs[i].Valves, len(p.Jobs[i].Valves))
			for k, got := range back.Jobs[i].Valves {
				v := &p.Jobs[i].Valves[k]
				assert.Equal(t, []shim.Length{v.Limits.Tight, v.Limits.Loose, v.Aim, v.Installed, v.Size},
					[]shim.Length{got.Tight, got.Loose, got.Aim, got.Installed, got.Shim}, "%s", v.Valve)
				require.Equal(t, v.Measured, got.Clearance != nil && got.Predicted != nil, "%s", v.Valve)
				if v.Measured {
					assert.Equal(t, []shim.Length{v.Clearance, v.Expected}, []shim.Length{*got.Clearance, *got.Predicted}, "%s", v.Valve)
				}
			}
		}
		require.Len(t, back.Shopping, len(p.Shopping))
		for i, lot := range p.Shopping {
			assert.Equal(t, lot.Size, back.Shopping[i].Size)
			want := ""
			if lot.Priced {
				want = "1234.75"
			}
			assert.Equal(t, want, back.Shopping[i].Price.String())
		}
	})
}
