package settings

import (
	"bytes"
	"fmt"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Path names a place in a file: keys and indices, each ended by a zero
// byte, so that a quoted key with a dot in it cannot be taken for two keys.
type Path string

func (p Path) Key(k string) Path { return p + Path(k) + "\x00" }
func (p Path) Index(i int) Path  { return p.Key(strconv.Itoa(i)) }

// At is the path of keys and indices.
func At(parts ...any) (p Path) {
	for _, k := range parts {
		p = p.Key(fmt.Sprint(k))
	}
	return p
}

// Position is a place in the text, both counted from 1; Column counts bytes.
type Position struct{ Line, Column int }

// Places remembers where the keys and the values of a file stand.
type Places struct {
	starts []int // offsets of line starts
	keys   map[Path]Position
	values map[Path]Position
	// deep is where tables and lists are nested more than mostDepth deep.
	deep *Position
}

// mostDepth is several times what any file of ours needs. The library keeps a table for
// each part of a key, and its path: 100,000 parts took 4 GB.
const mostDepth = 32

// tooDeep reports whether a path, or one before it, has too many parts.
func (p *Places) tooDeep(at Path) bool {
	if p.deep == nil && strings.Count(string(at), "\x00") > mostDepth {
		place := p.Of(at)
		p.deep = &place
	}
	return p.deep != nil
}

// locate reads the places of all keys and values. The text must be valid TOML:
// whatever cannot be read is left without a place.
func locate(data []byte) *Places {
	p := &Places{starts: []int{0}, keys: map[Path]Position{}, values: map[Path]Position{}}
	for i, c := range data {
		if c == '\n' {
			p.starts = append(p.starts, i+1)
		}
	}
	var parser unstable.Parser
	parser.Reset(data)
	count := map[Path]int{} // elements so far of an array of tables
	var at Path
	for p.deep == nil && parser.NextExpression() {
		e := parser.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			at = ""
			for it := e.Key(); it.Next() && !p.tooDeep(at); {
				at = at.Key(string(it.Node().Data))
				p.note(p.keys, at, it.Node().Raw.Offset)
				last := it.IsLast()
				if last && e.Kind == unstable.ArrayTable {
					count[at]++
				}
				if n := count[at]; n > 0 {
					at = at.Index(n - 1)
					p.note(p.keys, at, it.Node().Raw.Offset)
				}
			}
		case unstable.KeyValue:
			p.pair(at, e, data)
		}
	}
	return p
}

func (p *Places) pair(at Path, n *unstable.Node, data []byte) {
	end := uint32(0)
	for it := n.Key(); it.Next() && !p.tooDeep(at); {
		at = at.Key(string(it.Node().Data))
		p.note(p.keys, at, it.Node().Raw.Offset)
		end = it.Node().Raw.Offset + it.Node().Raw.Length
	}
	// The value begins after "=" and blanks; its own range is not set for every
	// kind of value.
	rest := data[end:]
	if i := bytes.IndexByte(rest, '='); i >= 0 {
		rest = bytes.TrimLeft(rest[i+1:], " \t")
		p.note(p.values, at, uint32(len(data)-len(rest)))
	}
	p.inside(at, n.Value(), data)
}

func (p *Places) inside(at Path, v *unstable.Node, data []byte) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next() && !p.tooDeep(at); {
			if it.Node().Kind == unstable.KeyValue {
				p.pair(at, it.Node(), data)
			}
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next() && !p.tooDeep(at); {
			if it.Node().Kind == unstable.Comment {
				continue
			}
			if r := it.Node().Raw; r.Length > 0 {
				p.note(p.values, at.Index(i), r.Offset)
			}
			p.inside(at.Index(i), it.Node(), data)
			i++
		}
	}
}

// note keeps the first place of a path.
func (p *Places) note(m map[Path]Position, at Path, offset uint32) {
	if _, ok := m[at]; ok {
		return
	}
	line := sort.SearchInts(p.starts, int(offset)+1)
	m[at] = Position{Line: line, Column: int(offset) - p.starts[line-1] + 1}
}

// Of finds the place of a value, else of its key, else of what holds it.
func (p *Places) Of(at Path) Position {
	for {
		if pos, ok := p.values[at]; ok {
			return pos
		}
		if pos, ok := p.keys[at]; ok {
			return pos
		}
		if at == "" {
			return Position{}
		}
		at = at[:strings.LastIndexByte(string(at[:len(at)-1]), 0)+1]
	}
}

// OfKey finds the place of a key, else of what holds it.
func (p *Places) OfKey(at Path) Position {
	if pos, ok := p.keys[at]; ok {
		return pos
	}
	return p.Of(at)
}
