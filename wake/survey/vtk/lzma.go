package vtk

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"hash/crc64"
	"io"

	"github.com/ulikunitz/xz/lzma"
)

var (
	errXZHeader = errors.New("no .xz stream")
	errXZFilter = errors.New("the .xz stream has other filters than LZMA2")
	errXZCheck  = errors.New("the checksum of the .xz stream is wrong")
	errXZLong   = errors.New("the .xz stream holds more than announced")
	errXZEnd    = errors.New("the .xz stream has no footer")
	crcECMA     = crc64.MakeTable(crc64.ECMA)
)

// unxz fills dst from the .xz stream src, which must hold just that much. The
// library compresses each block to a stream with one block and the LZMA2 filter,
// and its encoder asks for a dictionary of 8 MB or more whatever the block's
// length; a match cannot reach back beyond the block's first byte, so a
// dictionary of the length of the block does, and a damaged or hostile header
// cannot ask for gigabytes.
//
// Source: The .xz File Format, version 1.2.1, sections 2 to 4 [mem].
func unxz(dst, src []byte) error {
	const head = 12
	if len(src) < head+8 || !bytes.HasPrefix(src, []byte("\xfd7zXZ\x00")) ||
		crc32.ChecksumIEEE(src[6:8]) != binary.LittleEndian.Uint32(src[8:]) {
		return errXZHeader
	}
	check := src[7]
	size := (int(src[head]) + 1) * 4
	if src[head] == 0 || head+size > len(src) {
		return errXZHeader
	}
	h := src[head : head+size]
	if crc32.ChecksumIEEE(h[:size-4]) != binary.LittleEndian.Uint32(h[size-4:]) {
		return errXZHeader
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
		return errXZFilter
	}
	in := bytes.NewReader(src[head+size:])
	r, err := lzma.Reader2Config{DictCap: max(lzma.MinDictCap, len(dst))}.NewReader2(in)
	if err != nil {
		return err
	}
	if _, err := io.ReadFull(r, dst); err != nil {
		return err
	}
	var one [1]byte
	if n, err := r.Read(one[:]); n > 0 || err == nil {
		return errXZLong
	} else if err != io.EOF {
		return err
	}
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
		return errors.New("the .xz stream has a checksum other than CRC32 and CRC64")
	}
	if !ok {
		return errXZCheck
	}
	if !bytes.HasSuffix(src, []byte("YZ")) {
		return errXZEnd
	}
	return nil
}
