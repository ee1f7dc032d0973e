package average

import (
	"bytes"
	"context"
	"io"
	"os"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// Read reads a survey: the state of an average as its mean plane with the blocks of the
// record, anything else as package survey does. What the average has to say of its
// record is among the warnings.
func Read(ctx context.Context, name string, opt survey.Options) (*wake.Samples, error) {
	if !IsState(name) {
		return survey.Read(ctx, name, opt)
	}
	s, err := ReadState(name)
	if err != nil {
		return nil, err
	}
	return s.mean(name)
}

// Snapshots averages the snapshots in files, in order, to the mean plane of the given name,
// as Read does for the state of such an average. The warnings of the first snapshot stand
// for all.
func Snapshots(ctx context.Context, name string, files []string, read survey.Options, opt Options) (*wake.Samples, error) {
	a, err := New(opt)
	if err != nil {
		return nil, err
	}
	var doubts []wake.Warning
	err = a.Run(ctx, files, 1, func(ctx context.Context, file string) (*wake.Samples, error) {
		return survey.Read(ctx, file, read)
	}, func(s *wake.Samples) {
		if doubts == nil {
			doubts = append([]wake.Warning{}, s.Warnings...)
		}
	})
	if err != nil {
		return nil, err
	}
	out, err := a.State().mean(name)
	if err != nil {
		return nil, err
	}
	out.Warnings = append(doubts, out.Warnings...)
	return out, nil
}

// mean is the mean plane with what the average has to say of the record.
func (s *State) mean(name string) (*wake.Samples, error) {
	r, err := s.Result()
	if err != nil {
		return nil, err
	}
	out := r.Mean(name)
	for _, w := range r.Warnings {
		w.Where = name
		out.Warnings = append(out.Warnings, w)
	}
	return out, nil
}

// IsState reports whether a file begins as a state does.
func IsState(name string) bool {
	f, err := os.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, len(magic))
	_, err = io.ReadFull(f, head)
	return err == nil && bytes.Equal(head, []byte(magic))
}

func ReadState(name string) (*State, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, &wake.InputError{File: name, Text: "the state cannot be opened: " + wake.Reason(err), Cure: "check the name and the permissions"}
	}
	defer f.Close()
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = &wake.InputError{File: name, Text: "is a folder", Cure: "name the states in it"}
	}
	if err != nil {
		return nil, err
	}
	return Decode(name, f, info.Size())
}
