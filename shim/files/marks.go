package files

import (
	"bytes"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
)

const marksHint = `write a rule like marks = "2.45 + 0.025 n", or a table [shims.marks] with lines like A = 2.159`

// ruleText is a rule of marks: what 0 stands for, what each number adds, and from
// which number to which it goes. As many n as digits: nn writes 5 as 05.
var ruleText = pattern(`^(?:([\d.]+) ?([+-]) ?)?([\d.]+) ?[*×·]? ?(n{1,3})(?: ?, ?n+ ?= ?(\d{1,3}) ?(?:to|-|–) ?(\d{1,3}))?$`)

// marks reads the marks of a family: a rule, a list of rules, or a table of
// marks with the size of each, or with its sizes.
func (d *document) marks(key string, value any, lengths number[shim.Length], catalogue []shim.Range) shim.MarkList {
	var list shim.MarkList
	switch value := value.(type) {
	case nil:
	case string:
		list = d.rule(key, value, lengths, catalogue)
	case []any:
		for _, v := range value {
			rule, ok := v.(string)
			if !ok {
				d.wrong(key, "a list of marks holds rules in quotation marks", marksHint)
				return nil
			}
			list = append(list, d.rule(key, rule, lengths, catalogue)...)
		}
	case map[string]any:
		for _, mark := range slices.Sorted(maps.Keys(value)) {
			sizes, several := value[mark].([]any)
			if !several {
				sizes = []any{value[mark]}
			}
			if len(sizes) == 0 {
				d.wrong(key+"."+mark, "the mark has no size", "write its size, like "+mark+" = 2.50")
			}
			for _, size := range sizes {
				figure, ok := figureOf(size)
				if !ok {
					d.wrong(key+"."+mark, fmt.Sprintf("mark %s needs a size", quoted(mark)), "write its size, like A = 2.159, or its sizes, like 50 = [2.50, 3.50]")
					break
				}
				list = append(list, shim.Mark{Text: oneLine(mark), Size: lengths.read(d, key+"."+mark, text(figure))})
			}
		}
	default:
		d.wrong(key, "this is neither a rule nor a table of marks", marksHint)
	}
	return shim.SortMarks(list)
}

// figureOf is a number of a TOML document as it was written, to 15 digits.
func figureOf(value any) (string, bool) {
	switch v := value.(type) {
	case string:
		return v, true
	case int64:
		return strconv.FormatInt(v, 10), true
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64), true
	}
	return "", false
}

// rule lists the marks of a rule. Where it does not say how far it goes they end
// with the catalogue, and with what can be a shim.
func (d *document) rule(key, rule string, lengths number[shim.Length], catalogue []shim.Range) shim.MarkList {
	parts := ruleText().FindStringSubmatch(strings.ToLower(oneLine(rule)))
	if parts == nil {
		hint := marksHint
		if regexp.MustCompile(`\d,\d`).MatchString(rule) {
			hint = pointHint
		}
		d.wrong(key, quoted(rule)+" is no rule for marks", hint)
		return nil
	}
	var base shim.Length
	if parts[1] != "" {
		base = lengths.read(d, key, text(parts[1]))
	}
	step := lengths.read(d, key, text(parts[3]))
	if d.faulty[key] {
		return nil
	}
	if step == 0 {
		d.wrong(key, "each number of "+quoted(rule)+" adds nothing", marksHint)
		return nil
	}
	if parts[2] == "-" {
		step = -step
	}
	digits := len(parts[4])
	from, to, told := 0, 99, parts[5] != ""
	if digits == 3 {
		to = 999
	}
	if told {
		from, _ = strconv.Atoi(parts[5]) // three digits at most
		to, _ = strconv.Atoi(parts[6])
	}
	if from > to {
		d.wrong(key, fmt.Sprintf("the numbers run from %d down to %d", from, to), "write the smaller number first, like n = 1 to 17")
		return nil
	}
	var list shim.MarkList
	for n := from; n <= to; n++ {
		size := base + shim.Length(n)*step
		if !told && (shim.ImplausibleSize(size, shim.MM) != nil || !within(size, catalogue)) {
			continue
		}
		list = append(list, shim.Mark{Text: fmt.Sprintf("%0*d", digits, n), Size: size})
	}
	if len(list) == 0 {
		d.wrong(key, quoted(rule)+" gives no size on sale", "check it with a shim: its number in the rule gives its size")
	}
	return list
}

// within reports whether the size lies in the span of the catalogue, which an
// empty one does not bound.
func within(size shim.Length, catalogue []shim.Range) bool {
	thin, thick := shim.MaxSize, shim.Length(0)
	for _, r := range catalogue {
		thin, thick = min(thin, r.From), max(thick, r.To)
	}
	return len(catalogue) == 0 || size >= thin && size <= thick
}

// rulesOf gives the rules that make exactly these marks, nil where they are not
// the numbers of a few rules.
func rulesOf(list shim.MarkList, u shim.Unit) []string {
	const most = 5
	var rules []string
	for rest := list; len(rest) > 0; {
		rule, n := ruleOf(rest, u)
		if n == 0 || len(rules) == most {
			return nil
		}
		rules, rest = append(rules, rule), rest[n:]
	}
	return rules
}

// ruleOf is the rule of the first marks of a list, and how many they are: none
// where the first two follow no rule.
func ruleOf(list shim.MarkList, u shim.Unit) (rule string, count int) {
	if len(list) < 2 {
		return "", 0
	}
	first, err := parseWhole(list[0].Text)
	step := list[1].Size - list[0].Size
	base := list[0].Size - shim.Length(first)*step
	if err != nil || first < 0 || base < 0 || step == 0 {
		return "", 0
	}
	for digits := 1; digits <= 3; digits++ {
		n := 0
		for n < len(list) && first+n <= 999 && list[n] == (shim.Mark{Text: fmt.Sprintf("%0*d", digits, first+n), Size: list[0].Size + shim.Length(n)*step}) {
			n++
		}
		if n > 1 && n > count {
			count = n
			rule = fmt.Sprintf("%s + %s %s, n = %d to %d", exact(base, u), exact(step, u), strings.Repeat("n", digits), first, first+n-1)
		}
	}
	return rule, count
}

// writeMarks writes a table of marks, one a line, with its sizes.
func writeMarks(b *bytes.Buffer, list shim.MarkList, u shim.Unit) {
	for i, m := range list {
		same := func(o shim.Mark) bool { return o.Text == m.Text }
		if slices.ContainsFunc(list[:i], same) {
			continue
		}
		var sizes []string
		for _, o := range list[i:] {
			if same(o) {
				sizes = append(sizes, exact(o.Size, u))
			}
		}
		key := m.Text
		if !plainMark().MatchString(key) {
			key = textValue(key)
		}
		value := sizes[0]
		if len(sizes) > 1 {
			value = "[" + strings.Join(sizes, ", ") + "]"
		}
		fmt.Fprintf(b, "%s = %s\n", key, value)
	}
}

// plainMark is a mark that needs no quotation marks as a key.
var plainMark = pattern(`^[A-Za-z0-9_-]+$`)

// markAndSize begins a list of marks with their sizes.
var markAndSize = pattern(`^\s*[^\s=,;]+\s*=`)

// ParseMarks reads marks as they are typed: a rule, several parted by ;, or marks
// with their sizes, "A = 2.159, B = 2.184".
func ParseMarks(typed string, u shim.Unit, sale []shim.Range) (shim.MarkList, error) {
	const key = "marks"
	d := &document{faulty: map[string]bool{}}
	var value any
	if markAndSize().MatchString(typed) {
		table := map[string]any{}
		for _, part := range strings.FieldsFunc(typed, func(c rune) bool { return c == ',' || c == ';' }) {
			mark, size, _ := strings.Cut(part, "=")
			mark = strings.TrimSpace(mark)
			sizes, _ := table[mark].([]any)
			table[mark] = append(sizes, strings.TrimSpace(size))
		}
		value = table
	} else {
		var rules []any
		for _, rule := range strings.Split(typed, ";") {
			rules = append(rules, strings.TrimSpace(rule))
		}
		value = rules
	}
	list := d.marks(key, value, lengthsIn(u), sale)
	if len(d.faults) > 0 {
		hint := `type a rule like ` + u.Example("2.45 + 0.025 n, n = 1 to 34", "0.1 + 0.001 n, n = 1 to 34") + `, or marks with their sizes, like ` + u.Example("A = 2.159, B = 2.184", "A = .085, B = .086")
		return nil, shim.Fail(nil, hint, "%s", d.faults[0].Message)
	}
	return list, nil
}
