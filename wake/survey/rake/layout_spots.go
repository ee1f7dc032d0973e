package rake

import (
	"bytes"
	"strconv"

	"github.com/pelletier/go-toml/v2/unstable"
)

// spots remembers the line and byte column of every key of a layout, by its path:
// "tubes.0.along", both counted from 1.
type spots map[string][2]int

// findSpots reads the places of keys; what is no TOML has none.
func findSpots(data []byte) spots {
	s := spots{}
	count := map[string]int{}
	var p unstable.Parser
	p.Reset(data)
	at := ""
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			at = ""
			for it := e.Key(); it.Next(); {
				at = join(at, string(it.Node().Data))
				if it.IsLast() && e.Kind == unstable.ArrayTable {
					count[at]++
				}
				if n := count[at]; n > 0 {
					at = join(at, strconv.Itoa(n-1))
				}
				s.note(at, data, it.Node().Raw.Offset)
			}
		case unstable.KeyValue:
			s.pair(at, e, data)
		}
	}
	return s
}

func (s spots) pair(at string, e *unstable.Node, data []byte) {
	for it := e.Key(); it.Next(); {
		at = join(at, string(it.Node().Data))
		s.note(at, data, it.Node().Raw.Offset)
	}
	if v := e.Value(); v.Kind == unstable.InlineTable {
		for it := v.Children(); it.Next(); {
			if it.Node().Kind == unstable.KeyValue {
				s.pair(at, it.Node(), data)
			}
		}
	}
}

func (s spots) note(at string, data []byte, offset uint32) {
	if _, ok := s[at]; ok {
		return
	}
	before := data[:offset]
	s[at] = [2]int{bytes.Count(before, []byte("\n")) + 1, len(before) - bytes.LastIndexByte(before, '\n')}
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "." + b
}
