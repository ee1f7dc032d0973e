package wake

import "sync"

// Blocks holds what a time mean is without each of g contiguous parts of its record:
// the variance of any result R of the mean is (g−1)/g · Σ(R₍ⱼ₎ − R̄)², with R₍ⱼ₎ the
// same result of the mean without part j (the jackknife over blocks; correlations
// between samples and between quantities are in it without a model).
type Blocks struct {
	// Field holds, for each part, one value a sample; a quantity that is nil is that of
	// the mean.
	Field [][NumQuantities][]float64
}

// each gives the blocks with every column replaced by f of it; nil for nil.
func (b *Blocks) each(f func(col []float64) []float64) *Blocks {
	if b == nil {
		return nil
	}
	out := &Blocks{Field: make([][NumQuantities][]float64, len(b.Field))}
	for k := range b.Field {
		for q, col := range b.Field[k] {
			if col != nil {
				out.Field[k][q] = f(col)
			}
		}
	}
	return out
}

// Without is the plane with the values of the mean without part j. The fields that the
// blocks lack are shared.
func (p *Plane) Without(j int) *Plane {
	out := *p
	out.Blocks = nil
	for q, col := range p.Blocks.Field[j] {
		if col != nil {
			out.Field[q] = col
		}
	}
	return &out
}

// Map gives the plane's fields, and those of its blocks, changed column by column.
func (p *Plane) Map(f func(col []float64) []float64) (field [NumQuantities][]float64, blocks *Blocks) {
	var wg sync.WaitGroup
	for q, col := range p.Field {
		if col != nil {
			wg.Go(func() { field[q] = f(col) })
		}
	}
	wg.Wait()
	return field, p.Blocks.each(f)
}
