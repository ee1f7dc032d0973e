package vtk

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"hash/crc64"

	"github.com/ulikunitz/xz/lzma"
)

var (
	errXZHeader = errors.New("no .xz stream")
	errXZFilter = errors.New("the .xz stream has other filters than LZMA2")
	errXZCheck  = errors.New("the checksum of the .xz stream is wrong")
	errXZEnd    = errors.New("the .xz stream has no footer")
	crcECMA     = crc64.MakeTable(crc64.ECMA)
)

// unxz puts into dst the n bytes that the .xz stream src holds, which must not be
// more. The library compresses each block to a stream with one block and the LZMA2
// filter, and its encoder asks for a dictionary of 8 MB or more whatever the block's
// length; a match cannot reach back beyond the block's first byte, so a dictionary of
// the length of dst does, and a damaged or hostile header cannot ask for gigabytes.
//
// Source: The .xz File Format, version 1.2.1, sections 2 to 4 [mem].
func unxz(dst, src []byte) (n int, err error) {
	const head = 12
	if len(src) < head+8 || !bytes.HasPrefix(src, []byte("\xfd7zXZ\x00")) ||
		crc32.ChecksumIEEE(src[6:8]) != binary.LittleEndian.Uint32(src[8:]) {
		return 0, errXZHeader
	}
	check := src[7]
	size := (int(src[head]) + 1) * 4
	if src[head] == 0 || head+size > len(src) {
		return 0, errXZHeader
	}
	h := src[head : head+size]
	if crc32.ChecksumIEEE(h[:size-4]) != binary.LittleEndian.Uint32(h[size-4:]) {
		return 0, errXZHeader
	}
	// Flags, then the two optional sizes, then the only filter: id 0x21, one byte
	// of properties.
	i := 2
	for _, bit := range []byte{0x40, 0x80} {
		if h[1]&bit != 0 {
			for i < size-4 && h[i]&0x80 != 0 {
				i++
			}
			i++
		}
	}
	if h[1]&0x3f != 0 || i+3 > size-4 || h[i] != 0x21 || h[i+1] != 1 {
		return 0, errXZFilter
	}
	in := bytes.NewReader(src[head+size:])
	r, err := lzma.Reader2Config{DictCap: max(lzma.MinDictCap, len(dst))}.NewReader2(in)
	if err != nil {
		return 0, err
	}
	if n, err = unpackAll(r, dst); err != nil {
		return n, err
	}
	dst = dst[:n]
	end := len(src) - in.Len()
	end = (end + 3) / 4 * 4 // the header's lengths are multiples of four, too
	tail := src[min(end, len(src)):]
	ok := false
	switch check {
	case 0:
		ok = true
	case 1:
		ok = len(tail) >= 4 && binary.LittleEndian.Uint32(tail) == crc32.ChecksumIEEE(dst)
	case 4:
		ok = len(tail) >= 8 && binary.LittleEndian.Uint64(tail) == crc64.Checksum(dst, crcECMA)
	default:
		return 0, errors.New("the .xz stream has a checksum other than CRC32 and CRC64")
	}
	if !ok {
		return 0, errXZCheck
	}
	if !bytes.HasSuffix(src, []byte("YZ")) {
		return 0, errXZEnd
	}
	return n, nil
}
