package files

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func TestReadBox(t *testing.T) {
	want := []shim.BoxRow{
		{Marks: shim.Marks{Stamp: 2_450_000}, Count: 3, Family: shim.Family{Diameter: 8_900_000}, Bin: "B7"},
		{Marks: shim.Marks{Stamp: 2_500_000, Mic: 2_480_000}, Count: 1, Note: "worn, used"},
		{Marks: shim.Marks{Mic: 2_510_000}, Count: 2},
	}
	for name, text := range map[string]string{
		"plain":      "size,count,mic,diameter,bin,note\n2.45,3,,8.9,B7,\n2.5,1,2.48,,,\"worn, used\"\n,2,2.51,,,\n2.6,0,,,,\n",
		"semicolons": "\ufeffNote;Bin;Diameter;Mic;Count;Size\r\n;B7;8,9;;3;2,45\r\nworn, used;;;2,48;1,0;2,50\r\n;;;2,51;2;\r\n;;;;0;2,6\r\n",
	} {
		rows, warnings, err := ReadBox("box.csv", strings.NewReader(text), shim.MM, Marks{})
		require.NoError(t, err, name)
		assert.Empty(t, warnings, name)
		assert.Equal(t, want, rows, name)
		roundTripBox(t, rows, shim.MM)
	}
	rows, _, err := ReadBox("box.csv", strings.NewReader("size,count\n.0985,4\n"), shim.IN, Marks{})
	require.NoError(t, err)
	assert.Equal(t, []shim.BoxRow{{Marks: shim.Marks{Stamp: 2_501_900}, Count: 4}}, rows)
}

func TestReadBoxFaults(t *testing.T) {
	const header = "size,count,mic,diameter\n"
	for text, want := range map[string][]string{
		"":                           {"0:0 : the file is empty"},
		"size\n2.45\n":               {"1:0 count: the column count is missing"},
		"valve,count\n":              {`1:1 valve: unknown column "valve"`, "1:0 size: the column size is missing"},
		header + "2.45,-1,,\n":       {`2:6 count: a count of "-1" is below zero`},
		header + "2.45,1.5,,\n":      {`2:6 count: a count of "1.5" is not a whole number`},
		header + "2.45,0.12345678,,": {`2:6 count: a count of "0.12345678" is not a whole number`},
		header + "2.45,two,,\n":      {`2:6 count: "two" is not a number`},
		header + "2.45,,,\n":         {"2:6 count: the count is missing"},
		header + "2.45,9999999,,\n":  {`2:6 count: "9999999" is too large`},
		header + ",1,,\n":            {"2:1 size: the size is missing"},
		header + "0,1,,\n":           {"2:1 size: 0 mm is not a plausible shim size"},
		header + "24.5,1,0.25,89\n":  {"2:1 size: 24.5 mm is not a plausible shim size", "2:8 mic: 0.25 mm is not a plausible shim size", "2:13 diameter: 89 mm is not a plausible shim diameter"},
		header + "2.45,1,,x\n":       {`2:9 diameter: "x" is not a number`},
		header + "2.45,1\n":          {"2:6 : the row has 2 cells where the header has 4"},
		header + "2,45,1,,\n":        {"2:9 : the row has 5 cells where the header has 4"},
	} {
		rows, _, err := ReadBox("box.csv", strings.NewReader(text), shim.MM, Marks{})
		assert.Nil(t, rows, text)
		have := told(t, err)
		assert.ElementsMatch(t, want, have, text)
	}
}

func TestReadBoxWarnings(t *testing.T) {
	rows, warnings, err := ReadBox("box.csv", strings.NewReader("size,count\n"), shim.MM, Marks{})
	require.NoError(t, err)
	assert.Empty(t, rows)
	assert.Equal(t, []string{"0:0 : the box is empty: no rows under the header"}, lines(warnings))
	_, warnings, err = ReadBox("box.csv", strings.NewReader("size,count,mic\n2.5,1,2.4\n"), shim.MM, Marks{})
	require.NoError(t, err)
	assert.Equal(t, []string{"2:7 mic: the micrometer reads 2.4 but the stamp says 2.5 mm"}, lines(warnings))
}

func roundTripBox(t testing.TB, rows []shim.BoxRow, u shim.Unit) {
	var out bytes.Buffer
	require.NoError(t, WriteBox(&out, rows, u, nil))
	again, _, err := ReadBox("again.csv", bytes.NewReader(out.Bytes()), u, Marks{})
	require.NoError(t, err, "%q", out.String())
	require.Equal(t, rows, again, "%q", out.String())
}

func TestReadCatalogue(t *testing.T) {
	want := []shim.Offer{
		{Disc: shim.Disc{Family: shim.Family{Diameter: 8_900_000}, Size: 2_450_000}, Quote: shim.Quote{Price: 78_000, Priced: true}, Limited: true, Stock: 4, Part: "WR-245", Supplier: "North"},
		{Disc: shim.Disc{Size: 2_475_000}},
		{Disc: shim.Disc{Size: 2_500_000}, Quote: shim.Quote{Price: 12_345_678, Priced: true}, Limited: true},
	}
	for name, text := range map[string]string{
		"plain":      "size,price,diameter,stock,part,supplier\n2.45,7.80,8.9,4,WR-245,North\n2.475,,,,,\n2.5,1234.5678,,0,,\n",
		"semicolons": "part;stock;supplier;diameter;price;size\nWR-245;4;North;8,9;7,8;2,45\n;;;;;2,475\n;0;;;1234,5678;2,5\n",
	} {
		offers, warnings, err := ReadCatalogue("catalogue.csv", strings.NewReader(text), shim.MM, Marks{})
		require.NoError(t, err, name)
		assert.Empty(t, warnings, name)
		assert.Equal(t, want, offers, name)
	}
}

func TestReadCatalogueFaults(t *testing.T) {
	const header = "size,price,stock\n"
	for text, want := range map[string][]string{
		header:                    {"0:0 : the file has a header and no rows"},
		"size\n2.45\n":            {"1:0 price: the column price is missing"},
		header + ",7.8,\n":        {"2:1 size: the size is missing"},
		header + "2.45,-7.8,\n":   {`2:6 price: a price of "-7.8" is below zero`},
		header + "2.45,$7,\n":     {`2:6 price: "$7" is not a number`},
		header + "2.45,.12345,\n": {`2:6 price: ".12345" has more than four decimals`},
		header + "245,7,-1\n":     {"2:1 size: 245 mm is not a plausible shim size", `2:7 stock: a stock of "-1" is below zero`},
	} {
		offers, _, err := ReadCatalogue("catalogue.csv", strings.NewReader(text), shim.MM, Marks{})
		assert.Nil(t, offers, text)
		assert.Equal(t, want, told(t, err), text)
	}
}

func FuzzReadBox(f *testing.F) {
	f.Add("size,count,mic,diameter,bin,note\n2.45,3,,8.9,B7,\n,2,2.51,,,\"a\nb\"\n2.6,0,,,,\n", false)
	f.Add("sep=;\nsize;count\n,0985;4,0\n# x\n", true)
	f.Fuzz(func(t *testing.T, text string, inches bool) {
		u := shim.MM
		if inches {
			u = shim.IN
		}
		rows, _, err := ReadBox("box.csv", strings.NewReader(text), u, Marks{})
		if err != nil {
			require.NotEmpty(t, told(t, err))
			require.Nil(t, rows)
			return
		}
		for _, r := range rows {
			require.Positive(t, r.Count)
			require.True(t, r.Size() >= shim.MinSize && r.Size() <= shim.MaxSize, r)
		}
		roundTripBox(t, rows, u)
	})
}

func FuzzReadCatalogue(f *testing.F) {
	f.Add("size,price,diameter,stock,part\n2.45,7.80,8.9,4,WR-245\n2.475,,,,\n", false)
	f.Add("part;price;size\n;7,8;,0985\n", true)
	f.Fuzz(func(t *testing.T, text string, inches bool) {
		u := shim.MM
		if inches {
			u = shim.IN
		}
		offers, _, err := ReadCatalogue("catalogue.csv", strings.NewReader(text), u, Marks{})
		if err != nil {
			require.NotEmpty(t, told(t, err))
			require.Nil(t, offers)
			return
		}
		require.NotEmpty(t, offers)
		for _, o := range offers {
			require.True(t, o.Size >= shim.MinSize && o.Size <= shim.MaxSize, o)
			require.True(t, o.Price >= 0 && o.Stock >= 0, o)
		}
	})
}

// Files in each other's place, and cells in each other's columns, are told as
// such, once.
func TestExchanged(t *testing.T) {
	e := single(t, "mm")
	const check, box, catalogue = "valve,clearance,shim\nin1,0.07,2.45\nex1,0.08-0.10,2.5\n", "size,count\n2.4,1\n", "size,price,stock\n2.4,7.80,3\n"
	read := map[string]func(text string) error{
		"check": func(text string) error {
			_, _, err := ReadCheck("f", strings.NewReader(text), []*shim.Engine{e}, CheckOptions{})
			return err
		},
		"box": func(text string) error {
			_, _, err := ReadBox("f", strings.NewReader(text), shim.MM, Marks{})
			return err
		},
		"catalogue": func(text string) error {
			_, _, err := ReadCatalogue("f", strings.NewReader(text), shim.MM, Marks{})
			return err
		},
		"engine": func(text string) error { _, _, err := ReadEngine("f", strings.NewReader(text)); return err },
	}
	for _, row := range []struct {
		as, text string
		want     string
	}{
		{"check", check, ""},
		{"check", box, "1:1 : this is a box, by its columns"},
		{"check", catalogue, "1:1 : this is a catalogue, by its columns"},
		{"box", box, ""},
		{"box", check, "1:1 : this is a check, by its columns"},
		{"box", catalogue, "1:1 : this is a catalogue, by its columns"},
		{"catalogue", catalogue, ""},
		{"catalogue", check, "1:1 : this is a check, by its columns"},
		{"catalogue", box, "1:1 : this is a box, by its columns"},
		{"check", "# twin\nname = \"Heron\"\nunits = \"mm\"\n", "0:0 : this is an engine (TOML), by its first line, not a table (CSV)"},
		{"box", "[intake]\n", "0:0 : this is an engine (TOML), by its first line, not a table (CSV)"},
		{"engine", "rocker_ratio = 1,4\n", "1:17 : a decimal comma: TOML writes 1.4"},
		{"engine", "[intake]\nclearance = [.004, .006]\n", "2:14 : a figure without its zero: TOML writes 0.004"},
		{"engine", "[intake]\nclearance = [\n  0.004,-.006]\n", "3:10 : a figure without its zero: TOML writes -0.006"},
		{"engine", "step = .05\n", "1:8 : a figure without its zero: TOML writes 0.05"},
		{"engine", "[intake]\nclearance = [0,08, 0,13]\n", "2:16 : a decimal comma: TOML writes 0.08"},
		{"engine", "[intake]\nclearance = [ 0,08 ,0,13 ] # cold\n", "2:17 : a decimal comma: TOML writes 0.08"},
		{"engine", "firing_order = [1, 3, 4, 02]\n", "1:26 : not valid TOML: integers cannot have leading zeroes"},
		{"engine", check, "0:0 : this is a table (CSV), not an engine (TOML)"},
		{"check", "valve,shim,clearance\nin1,0.07,2.45\nex1,0.08-0.10,2.5\n", "2:10 clearance: clearance and shim are swapped"},
		{"box", "count,size\n2.4,1\n2.425,3\n", "2:1 count: count and size are swapped"},
	} {
		var want []string
		if row.want != "" {
			want = []string{row.want}
		}
		require.Equal(t, want, told(t, read[row.as](row.text)), "%s as %s", row.text, row.as)
	}
}
