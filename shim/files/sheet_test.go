package files

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func named(t testing.TB, texts ...string) (list []Named) {
	for _, text := range texts {
		n, err := ParseNamed(text)
		require.NoError(t, err)
		list = append(list, n)
	}
	return list
}

// One price list in the forms that spreadsheets give it: all read alike.
func TestReadPricesForms(t *testing.T) {
	want := []shim.Offer{
		{Disc: shim.Family{Diameter: 8_900_000}.Of(2_450_000), Quote: shim.Quote{Price: 78_000, Priced: true}, Stock: 10, Limited: true, Part: "WR-245"},
		{Disc: shim.Family{Diameter: 8_900_000}.Of(2_475_000), Quote: shim.Quote{Price: 12_345_000, Priced: true}, Part: "WR-2475"},
		{Disc: shim.Family{Diameter: 8_900_000}.Of(2_500_000), Limited: true, Part: "WR-25"},
	}
	form := Form{Columns: named(t, "Stärke=size", "Preis je Stück=price", "Ø=diameter", "Bestand=stock", "Art.-Nr.=part"), Words: named(t, "auf Anfrage=", "ja=yes", "nein=no")}
	german := "Art.-Nr.;Bezeichnung;Stärke;Ø;Preis je Stück;Bestand\n" +
		"WR-245;Plättchen;2,45 mm;8,9;7,80 €;>10\nWR-2475;Plättchen;2,475;Ø 8,9;EUR 1.234,50;ja\nWR-25;Plättchen;2,5;8,9;auf Anfrage;nein\n"
	latin := func(text string) string {
		var b strings.Builder
		for _, r := range text {
			if r == '€' {
				r = 0x80
			}
			b.WriteByte(byte(r))
		}
		return b.String()
	}
	for name, text := range map[string]string{
		"semicolons": german, "byte order mark": "\ufeff" + german, "Latin-1": latin(german), "carriage returns": strings.ReplaceAll(german, "\n", "\r\n"),
		"tabs":       strings.ReplaceAll(german, ";", "\t"),
		"commas":     "Art.-Nr.,Bezeichnung,Stärke,Ø,Preis je Stück,Bestand\nWR-245,\"a, b\",\"2,45\",8.9,€ 7.80,10+\nWR-2475,,2.475,8.9,\"1,234.50\",ja\nWR-25,,2.500 mm,8.9,,0\n",
		"below more": "Preisliste 2027;;;;;\n\nWillow Road;;;;;\n" + strings.Replace(german, "WR-25;", "Plättchen, dick;;;;;\nWR-25;", 1),
	} {
		offers, warnings, err := ReadPrices("list.csv", strings.NewReader(text), form, Marks{})
		require.NoError(t, err, name)
		assert.Equal(t, want, offers, name)
		if name == "below more" {
			assert.Equal(t, []string{"7:0 : 1 row without a size left out, this one first"}, lines(warnings))
		} else {
			assert.Empty(t, warnings, name)
		}
	}
}

func TestReadPricesFaults(t *testing.T) {
	form := Form{Columns: named(t, "Dicke=size", "Preis=price")}
	for text, want := range map[string][]string{
		"":                         {"0:0 : the file is empty"},
		"Dicke;Preis\n":            {"0:0 : no row has a size"},
		"Dicke;Euro\n2,45;7\n":     {`1:0 : no row has the columns "Dicke", "Preis"`},
		"Dicke;Preis\n2,45;1.234":  {`2:6 price: "1.234" can be read in two ways`},
		"Dicke;Preis\n245;7\n":     {"2:1 size: 245 mm is not a plausible shim size"},
		"Dicke;Preis\n2,45;7;x\n":  {"2:8 : the row has 3 cells where the header has 2"},
		"Dicke;Preis\n2,45;gut\n":  {`2:6 price: "gut" is not a number`},
		"Dicke;Preis\nM6;7\n":      {`2:1 size: "M6" is not a number`},
		"Dicke;Preis;dicke\n2;7;2": {"1:13 : two columns are size"},
	} {
		offers, _, err := ReadPrices("list.csv", strings.NewReader(text), form, Marks{})
		assert.Nil(t, offers, text)
		assert.Equal(t, want, told(t, err), text)
	}
	_, _, err := ReadPrices("list.csv", strings.NewReader("Dicke;Preis\n2,45;7\n"), Form{Columns: form.Columns[:1]}, Marks{})
	assert.Equal(t, []string{`1:0 : no row has the columns "Dicke", "price"`}, told(t, err))
	_, _, err = ReadPrices("list.csv", strings.NewReader(strings.Repeat("x", mostSheet<<20+1)), form, Marks{})
	assert.ErrorContains(t, err, "larger than 16 MB")
	for _, bad := range []Form{{Columns: named(t, "A=size", "B=size")}, {Columns: named(t, "A=size", "a=price")}, {Columns: named(t, "A=sise")}} {
		assert.Error(t, bad.OfPrices())
	}
	offers, _, err := ReadPrices("list.csv", strings.NewReader("# ours, with one column more\nsize_in,colour,price\n.098,red,7\n"), Form{}, Marks{})
	require.NoError(t, err)
	assert.Equal(t, []shim.Offer{{Disc: shim.Disc{Size: 2_489_200}, Quote: shim.Quote{Price: 70_000, Priced: true}}}, offers)
	offers, _, err = ReadPrices("list.csv", strings.NewReader("Dicke;Preis\n2,45;1.234"), Form{Columns: form.Columns, Decimal: "comma"}, Marks{})
	require.NoError(t, err)
	assert.Equal(t, shim.Price(12_340_000), offers[0].Price)
}

func TestReadSheet(t *testing.T) {
	form := Form{Columns: named(t, "Maß=size", "Stück=count", "Fach=bin", "Zustand=used", "EK=price", "Bauart=family"), Words: named(t, "gebraucht=used", "neu=new", "Scheibe=")}
	rows, warnings, err := ReadSheet("box.csv", strings.NewReader("Fach;Maß;Stück;Zustand;EK;Bauart\nA1;2,45;3;neu;7,80 €;Scheibe\nA1;2,40;1;gebraucht;;Scheibe\nA2;2,35;0;neu;;\nRegal 2\n"), form, Marks{})
	require.NoError(t, err)
	assert.Equal(t, []string{"5:0 : 1 row without a size left out, this one first"}, lines(warnings))
	assert.Equal(t, []SheetRow{
		{shim.BoxRow{Marks: shim.Marks{Stamp: 2_450_000}, Count: 3, Bin: "A1"}, shim.Quote{Price: 78_000, Priced: true}},
		{shim.BoxRow{Marks: shim.Marks{Stamp: 2_400_000}, Count: 1, Bin: "A1", Used: true}, shim.Quote{}},
	}, rows)
	_, _, err = ReadSheet("box.csv", strings.NewReader("Fach;Maß;Stück;Zustand;EK;Bauart\nA1;2,45;3;gebr.;;\nSumme;;3;;;\n"), form, Marks{})
	assert.Equal(t, []string{`2:11 used: "gebr." says neither used nor new`, "3:7 size: the size is missing"}, told(t, err))
	rows, _, err = ReadSheet("box.csv", strings.NewReader("reads,count\n2.391,1\n"), Form{Columns: named(t, "reads=mic")}, Marks{})
	require.NoError(t, err)
	assert.Equal(t, shim.Marks{Mic: 2_391_000}, rows[0].Marks)
}

func TestFigure(t *testing.T) {
	for _, row := range []struct{ decimal, text, want string }{
		{"", "7,80", "7.80"}, {"", "7.80", "7.80"}, {"", "1.234,50", "1234.50"}, {"", "1,234.50", "1234.50"}, {"", "1'234.50", "1234.50"}, {"", "1 234,50", "1234.50"},
		{"", "1.234.567", "1234567"}, {"", "1,234,567", "1234567"}, {"", "1,2,3", "1,2,3"}, {"", "12,34.50", "12,34.50"}, {"comma", "1.234", "1234"}, {"point", "1,234", "1234"},
		{"comma", "2.45", "2.45"}, {"point", "2,45", "2,45"}, {"", ",098", ".098"}, {"", "-7,8", "-7.8"},
	} {
		assert.Equal(t, row.want, (&Form{Decimal: row.decimal}).figure(row.text), "%v", row)
	}
}

func FuzzReadPrices(f *testing.F) {
	f.Add("Art;Dicke;Preis\nWR;2,45 mm;7,80 €\n;;\n", "Dicke", "Preis", "", "")
	f.Add("\ufeffList\n\"Size\"\tPrice\n.098in\t1,234.50\n", "size", "price", "point", "tab")
	f.Add("Dicke|Preis\n2\xe4;\"7\n", "Dicke", "Preis", "comma", "bar")
	f.Fuzz(func(t *testing.T, text, size, price, decimal, delimiter string) {
		between, err := ParseDelimiter(delimiter)
		if err != nil {
			return
		}
		form := Form{Columns: []Named{{size, "size"}, {price, "price"}}, Decimal: decimal, Delimiter: between}
		if form.OfPrices() != nil {
			return
		}
		offers, _, err := ReadPrices("list.csv", strings.NewReader(text), form, Marks{})
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
