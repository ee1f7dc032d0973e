package vtk

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"

	"github.com/ulikunitz/xz"
	"github.com/ulikunitz/xz/lzma"
)

// unxz puts into dst what the .xz stream src holds, and returns its length.
//
// The library's encoder asks for a dictionary of 8 MB or more whatever the block's length,
// and a hostile header for gigabytes. A match cannot reach back beyond the block's first
// byte, so the block's header is made to ask for the length of dst.
//
// Source: The .xz File Format, version 1.2.1, sections 2 and 3 [mem].
func unxz(dst, src []byte) (n int, err error) {
	const start = 12 // the length of the stream's header
	size := 0
	if len(src) > start {
		size = (int(src[start]) + 1) * 4
	}
	if size < 8 || start+size > len(src) {
		return 0, errors.New("no .xz stream")
	}
	header := bytes.Clone(src[start : start+size])
	sum := header[size-4:]
	// The last filter: id 0x21, one byte of properties.
	filter := bytes.LastIndex(header, []byte{0x21, 1})
	if binary.LittleEndian.Uint32(sum) != crc32.ChecksumIEEE(header[:size-4]) || filter < 0 || filter+2 >= size-4 {
		return 0, errors.New("the header of the .xz stream is wrong")
	}
	header[filter+2] = lzma.EncodeDictCap(int64(len(dst)))
	binary.LittleEndian.PutUint32(sum, crc32.ChecksumIEEE(header[:size-4]))
	stream := io.MultiReader(bytes.NewReader(src[:start]), bytes.NewReader(header), bytes.NewReader(src[start+size:]))
	r, err := xz.ReaderConfig{DictCap: lzma.MinDictCap, SingleStream: true}.NewReader(stream)
	if err != nil {
		return 0, err
	}
	return unpackAll(r, dst)
}
