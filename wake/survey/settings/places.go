package settings

import (
	"bytes"
	"fmt"
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
	data         []byte
	keys, values map[Path]int // offsets
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
	p := &Places{data: data, keys: map[Path]int{}, values: map[Path]int{}}
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
				note(p.keys, at, it.Node().Raw.Offset)
				last := it.IsLast()
				if last && e.Kind == unstable.ArrayTable {
					count[at]++
				}
				if n := count[at]; n > 0 {
					at = at.Index(n - 1)
					note(p.keys, at, it.Node().Raw.Offset)
				}
			}
		case unstable.KeyValue:
			p.pair(at, e)
		}
	}
	return p
}

func (p *Places) pair(at Path, n *unstable.Node) {
	end := uint32(0)
	for it := n.Key(); it.Next() && !p.tooDeep(at); {
		at = at.Key(string(it.Node().Data))
		note(p.keys, at, it.Node().Raw.Offset)
		end = it.Node().Raw.Offset + it.Node().Raw.Length
	}
	// The value begins after "=" and blanks; its own range is not set for every
	// kind of value.
	rest := p.data[end:]
	if i := bytes.IndexByte(rest, '='); i >= 0 {
		rest = bytes.TrimLeft(rest[i+1:], " \t")
		note(p.values, at, uint32(len(p.data)-len(rest)))
	}
	p.inside(at, n.Value())
}

func (p *Places) inside(at Path, v *unstable.Node) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next() && !p.tooDeep(at); {
			if it.Node().Kind == unstable.KeyValue {
				p.pair(at, it.Node())
			}
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next() && !p.tooDeep(at); {
			if it.Node().Kind == unstable.Comment {
				continue
			}
			if r := it.Node().Raw; r.Length > 0 {
				note(p.values, at.Index(i), r.Offset)
			}
			p.inside(at.Index(i), it.Node())
			i++
		}
	}
}

// note keeps the first place of a path.
func note(m map[Path]int, at Path, offset uint32) {
	if _, ok := m[at]; !ok {
		m[at] = int(offset)
	}
}

// Of finds the place of a value, else of its key, else of what holds it.
func (p *Places) Of(at Path) Position {
	for ; at != ""; at = at[:strings.LastIndexByte(string(at[:len(at)-1]), 0)+1] {
		for _, m := range []map[Path]int{p.values, p.keys} {
			if offset, ok := m[at]; ok {
				return p.position(offset)
			}
		}
	}
	return Position{}
}

// OfKey finds the place of a key, else of what holds it.
func (p *Places) OfKey(at Path) Position {
	if offset, ok := p.keys[at]; ok {
		return p.position(offset)
	}
	return p.Of(at)
}

func (p *Places) position(offset int) Position {
	before := p.data[:offset]
	return Position{Line: 1 + bytes.Count(before, []byte{'\n'}), Column: offset - bytes.LastIndexByte(before, '\n')}
}
