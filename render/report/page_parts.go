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
	v.Tables = titledTables(append([]titled{{title: pathTitle, table: pathTable(o)}}, pathMoveTables(o)...))
	if len(v.Lines)+len(v.Tables)+len(v.Tops) == 0 {
		return nil
	}
	return v
}
