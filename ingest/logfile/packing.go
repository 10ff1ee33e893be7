package logfile

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"os"

	"github.com/klauspost/compress/zstd"
)

// sniffPacking tells compression by the file's first bytes, never by its name.
func (f *File) sniffPacking() error {
	in, err := os.Open(f.Path)
	if err != nil {
		return explain(f.Path, err)
	}
	defer in.Close()
	var magic [4]byte
	n, err := io.ReadFull(in, magic[:])
	if err != nil && n == 0 {
		return fmt.Errorf("%s: %w", f.Path, err)
	}
	switch {
	case bytes.HasPrefix(magic[:n], []byte{0x1f, 0x8b}):
		f.Packing = "gzip"
	case bytes.Equal(magic[:n], []byte{0x28, 0xb5, 0x2f, 0xfd}):
		f.Packing = "zstd"
	}
	return nil
}

// unpacked opens the file and undoes its compression.
func (f *File) unpacked(ctx context.Context) (io.ReadCloser, error) {
	in, err := os.Open(f.Path)
	if err != nil {
		return nil, explain(f.Path, err)
	}
	r := &ctxReader{ctx, in}
	switch f.Packing {
	case "gzip":
		z, err := gzip.NewReader(r)
		if err != nil {
			in.Close()
			return nil, fmt.Errorf("%s: damaged gzip: %w; export it again", f.Path, err)
		}
		return &stream{Reader: z, close: func() error { z.Close(); return in.Close() }}, nil
	case "zstd":
		z, err := zstd.NewReader(r, zstd.WithDecoderMaxMemory(1<<28))
		if err != nil {
			in.Close()
			return nil, fmt.Errorf("%s: damaged zstd: %w; export it again", f.Path, err)
		}
		return &stream{Reader: z, close: func() error { z.Close(); return in.Close() }}, nil
	}
	return &stream{Reader: r, close: in.Close}, nil
}

type stream struct {
	io.Reader
	close func() error
}

func (s *stream) Close() error { return s.close() }
