package report

import (
	"io"
	"slices"
	"strings"

	"wakeledger/grid"
)

// Table is columns and rows of cells that have their digits already. A cell may be
// empty; a column that is empty in every row is not shown.
type Table struct {
	Title   string
	Columns []Column
	Rows    [][]string
	// Foot stands below, a paragraph a line; Detail is for those who ask for it. Where the last column holds Words, text
	// has a paragraph for each row.
	Foot          string
	Detail, Words bool
}

// Column is the heading of a column; numbers are set flush right.
type Column struct {
	Name   string
	Number bool
}

// NewTable begins a table; a column whose heading begins with ">" holds numbers.
func NewTable(head ...string) *Table {
	t := &Table{}
	t.heads(head...)
	return t
}

func (t *Table) heads(head ...string) {
	for _, h := range head {
		name, number := strings.CutPrefix(h, ">")
		t.Columns = append(t.Columns, Column{name, number})
	}
}

// Add appends a row; cells that are missing at its end are empty.
func (t *Table) Add(cells ...string) {
	for len(cells) < len(t.Columns) {
		cells = append(cells, "")
	}
	t.Rows = append(t.Rows, cells)
}

// row is the row whose first cell is key, which is added where there is none.
func (t *Table) row(key string) []string {
	i := slices.IndexFunc(t.Rows, func(r []string) bool { return r[0] == key })
	if i < 0 {
		i = len(t.Rows)
		t.Add(key)
	}
	return t.Rows[i]
}

// Shown is the table without the columns that say nothing, or nil where no more than
// the first is left.
func (t *Table) Shown() *Table {
	out := *t
	out.Columns, out.Rows = nil, make([][]string, len(t.Rows))
	for c, col := range t.Columns {
		used := c == 0
		for _, r := range t.Rows {
			used = used || r[c] != ""
		}
		if !used {
			continue
		}
		out.Columns = append(out.Columns, col)
		for i, r := range t.Rows {
			out.Rows[i] = append(out.Rows[i], r[c])
		}
	}
	if len(out.Rows) == 0 || len(out.Columns) < 2 {
		return nil
	}
	return &out
}

// plain are the tables that are no details.
func plain(ts []*Table) []*Table {
	return slices.DeleteFunc(slices.Clone(ts), func(t *Table) bool { return t.Detail })
}

// titled gives a table its title and what stands below it.
func (t *Table) titled(title, foot string) *Table {
	t.Title, t.Foot = title, foot
	return t
}

// detailed is a table for those who ask for it.
func (t *Table) detailed() *Table {
	t.Detail = true
	return t
}

// sheet is a text for a terminal or a letter, of at most Width columns, with the notes that it refers to.
type sheet struct {
	strings.Builder
	notes notes
}

// section sets what follows apart by a blank line, with its title over a rule of a character, if there are such.
func (s *sheet) section(title, rule string) {
	if s.Len() > 0 {
		s.WriteByte('\n')
	}
	if title != "" {
		s.hang(title, 0, 0)
		s.WriteString(strings.Repeat(rule, min(Width, max(8, textWidth(title)))) + strings.Repeat("\n", len(rule)))
	}
}

// para writes a paragraph, indented; hang one whose first line is indented otherwise than the rest.
func (s *sheet) para(words string, indent int) { s.hang(words, indent, indent) }

func (s *sheet) hang(words string, first, rest int) {
	for _, l := range wrap(words, first, rest) {
		s.WriteString(l + "\n")
	}
}

// tableIndent is where tables stand in text.
const tableIndent = 2

// table writes a table, with a title after a blank line; one that has nothing to show is left out with its title.
func (s *sheet) table(title string, t *Table) {
	if t = t.Shown(); t == nil {
		return
	}
	if title != "" {
		s.WriteByte('\n')
		s.para(title, tableIndent)
	}
	w := t.widths()
	head := grid.Fill(len(t.Columns), func(c int) string { return t.Columns[c].Name })
	for i, r := range append([][]string{head}, t.Rows...) {
		switch last := len(r) - 1; {
		case !t.Words:
			s.WriteString(t.line(r, w))
		case i > 0:
			s.hang(strings.Join(r[:last], ", ")+": "+r[last], tableIndent, 6)
		}
	}
}

// widths are those of the columns. Where the table would be wider than Width, the widest columns of
// words are cut in the middle: names, which stand before the first number, to 8 letters, and others
// to 14, which no verdict is longer than. Numbers are never cut.
func (t *Table) widths() []int {
	w := make([]int, len(t.Columns))
	for c := range w {
		w[c] = textWidth(t.Columns[c].Name)
		for _, r := range t.Rows {
			w[c] = max(w[c], textWidth(r[c]))
		}
	}
	for {
		total, widest, narrowest, least := tableIndent-2, -1, 8, 8
		for c := range w {
			total += w[c] + 2
			if t.Columns[c].Number {
				least = 14
			} else if w[c] > least && (widest < 0 || w[c] > w[widest]) {
				widest, narrowest = c, least
			}
		}
		if total <= Width || widest < 0 {
			return w
		}
		w[widest] -= min(total-Width, w[widest]-narrowest)
	}
}

func (t *Table) line(cells []string, w []int) string {
	var b strings.Builder
	b.WriteString(strings.Repeat(" ", tableIndent))
	for c, s := range cells {
		if c > 0 {
			b.WriteString("  ")
		}
		s = Shorten(s, w[c])
		pad := strings.Repeat(" ", w[c]-textWidth(s))
		if t.Columns[c].Number {
			b.WriteString(pad + s)
		} else {
			b.WriteString(s + pad)
		}
	}
	return strings.ReplaceAll(strings.TrimRight(b.String(), " "), "\u00a0", " ") + "\n"
}

// markdown has the names of a table escaped.
func (t *Table) markdown() string {
	var b strings.Builder
	head, rule := "|", "|"
	for _, c := range t.Columns {
		head += " " + c.Name + " |"
		rule += map[bool]string{true: "---:|", false: "---|"}[c.Number]
	}
	b.WriteString(head + "\n" + rule + "\n")
	for _, r := range t.Rows {
		b.WriteString("|")
		for c, cell := range r {
			if !t.Columns[c].Number {
				cell = markdownMarks.ReplaceAllString(cell, `\$0`)
			}
			b.WriteString(" " + cell + " |")
		}
		b.WriteString("\n")
	}
	return b.String()
}

// tables prints them; what stands below has its second line, and all further ones, indented
// by rest.
func (s *sheet) tables(rest int, ts ...*Table) {
	for _, t := range ts {
		s.table(t.Title, t)
		for p := range strings.SplitSeq(t.Foot, "\n") {
			if p != "" {
				s.hang(p, 2, rest)
			}
		}
	}
}

// print writes the text.
func (s *sheet) print(w io.Writer) error {
	_, err := io.WriteString(w, s.String())
	return err
}
