package survey

import (
	"bytes"
	"fmt"
	"io"
	"runtime"
	"strconv"
	"strings"

	"wakeledger/grid"
)

// Column is a column of a plane that is written.
type Column struct {
	Name, Unit string
	Values     []float64
	// Digits are the significant ones, −1 for all that tell a float64 from others.
	Digits int
}

// writeBlock is how many rows are made at a time by a core.
const writeBlock = 1 << 13

// Write writes a plane as comma-separated text that Read takes: comments, a header with
// units, a row for each sample.
func Write(w io.Writer, comments []string, columns []Column) error {
	var head bytes.Buffer
	for _, line := range comments {
		fmt.Fprintf(&head, "# %s\n", strings.NewReplacer("\n", " ", "\r", " ").Replace(line))
	}
	for k, c := range columns {
		if k > 0 {
			head.WriteByte(',')
		}
		fmt.Fprintf(&head, "%s [%s]", c.Name, c.Unit)
	}
	head.WriteByte('\n')
	if _, err := w.Write(head.Bytes()); err != nil {
		return err
	}
	n := len(columns[0].Values)
	// Blocks are made side by side, a few at a time, and written in order.
	blocks := make([][]byte, runtime.GOMAXPROCS(0))
	for first := 0; first < n; first += len(blocks) * writeBlock {
		grid.Parallel(len(blocks), func(k int) {
			b := blocks[k][:0]
			for i := first + k*writeBlock; i < min(first+(k+1)*writeBlock, n); i++ {
				for j, c := range columns {
					if j > 0 {
						b = append(b, ',')
					}
					b = strconv.AppendFloat(b, c.Values[i]+0, 'g', c.Digits, 64) // no minus zero
				}
				b = append(b, '\n')
			}
			blocks[k] = b
		})
		for _, b := range blocks {
			if _, err := w.Write(b); err != nil {
				return err
			}
		}
	}
	return nil
}
