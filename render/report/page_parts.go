package report

import (
	"slices"

	"wakeledger/wake/study"
)

// partsView is what the page says of the parts of the wake through the stations.
type partsView struct {
	Lines  []sentenceView
	Tables []titledTable
	Ends   []string
	Tops   []string
}

// newParts has the sentences on each configuration, the paths and the moves along
// them; nil where no part was followed.
func newParts(o *study.Outcome) *partsView {
	v := &partsView{Ends: slices.Concat(pathEnds(o), samePlaceWords(o)), Tops: topCheckWords(o)}
	if len(v.Tops) > 0 {
		v.Tops = append(v.Tops, topCheckNote)
	}
	for _, c := range o.Configurations {
		v.Lines = append(v.Lines, sentences(pathSentences(o, c.Name))...)
	}
	if t := tableOf(pathTable(o)); t != nil {
		v.Tables = append(v.Tables, titledTable{pathTitle, t, ""})
	}
	for _, m := range pathMoveTables(o) {
		if t := tableOf(m.table); t != nil {
			v.Tables = append(v.Tables, titledTable{m.title, t, m.text})
		}
	}
	if len(v.Lines)+len(v.Tables)+len(v.Tops) == 0 {
		return nil
	}
	return v
}

// parts adds the parts of the wake at a station, their moves, and where the drag
// differences sit: the exchange where all can see it, the rest on demand.
func (v *stationView) parts(o *study.Outcome, st study.StationOutcome) {
	add := func(to *[]titledTable, title string, g *Table, foot string) {
		if t := tableOf(g); t != nil {
			*to = append(*to, titledTable{title, t, foot})
		}
	}
	var details []titledTable
	for _, sv := range st.Surveys {
		r := partsOf(st, sv)
		if r == nil {
			continue
		}
		if r.StructureRule != nil {
			add(&details, structureTitle+", "+clean(sv.Configuration), structureTable(r), "Rule: "+structureWords(r.StructureRule)+".")
		}
		if r.TopView != nil {
			add(&v.Regions, "Edges of the wake, "+clean(sv.Configuration), topTable(r.TopView), topWords(r.TopView)+".")
		}
	}
	if c := st.Comparison; c != nil {
		n := stationNames(o, st)
		for i, x := range c.Variants {
			add(&v.Regions, moveTitle(x.Structures, n[i+1], n[0]), moveTable(x.Structures), "")
			add(&details, moveBudgetTitle+", "+n[i+1]+" and "+n[0], moveBudgetTable(x.Structures), moveBudgetWords(x.Structures))
			add(&details, "Matches of the parts, "+n[i+1]+" and "+n[0], matchTable(x.Structures), "")
			if x.TopView != nil {
				add(&v.Regions, "Moves of the edges, "+n[i+1]+" minus "+n[0]+", mm inboard", topShiftTable(x.TopView), "")
			}
		}
		if list, _ := ledgers(c, n); len(list) > 0 {
			add(&v.Regions, exchangeTitle+", m² of drag area", exchangeTable(c, n), "")
			add(&details, cumulativeTitle+", m²", cumulativeTable(c, n), "Rests on: "+exchangeWords(list)+".")
		}
	}
	v.Details = slices.Concat(details, v.Details)
}
