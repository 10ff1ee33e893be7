package logfile

import (
	"context"
	"errors"
	"fmt"
	"io"

	"golang.org/x/sync/errgroup"
)

// Chunks reads the whole file below its header and calls fn for every chunk, on up to workers
// goroutines at once. Chunk i goes to worker i modulo workers, and each worker gets its chunks in
// the order of the file: what a worker sees depends on the file and workers alone.
//
// Each worker has up to queued chunks waiting, so that one which is long at something leaves the others enough to do. The first error of fn or of reading stops all.
func (f *File) Chunks(ctx context.Context, workers int, fn func(worker int, c *Chunk) error) error {
	workers = max(1, workers)
	g, ctx := errgroup.WithContext(ctx)
	free := make(chan *Chunk, workers*(queued+1)+1)
	for range cap(free) {
		free <- &Chunk{file: f}
	}
	queues := make([]chan *Chunk, workers)
	for w := range queues {
		queues[w] = make(chan *Chunk, queued)
		g.Go(func() error {
			for c := range queues[w] {
				if f.Format == formatCSV {
					f.dialect.split(c, 0)
				}
				if err := fn(w, c); err != nil {
					return err
				}
				free <- c
			}
			return nil
		})
	}
	g.Go(func() error {
		defer func() {
			for _, q := range queues {
				close(q)
			}
		}()
		return f.cut(ctx, free, queues)
	})
	return g.Wait()
}

// queued is how many chunks may wait for a worker.
const queued = 16

// cut reads the file and deals its chunks to the queues in turn.
func (f *File) cut(ctx context.Context, free chan *Chunk, queues []chan *Chunk) error {
	rows, file, err := f.start(ctx)
	if err != nil {
		return err
	}
	defer file.Close()
	for seq := 0; ; seq++ {
		var c *Chunk
		select {
		case c = <-free:
		case <-ctx.Done():
			return ctx.Err()
		}
		if err := rows.next(c); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return f.failed(err)
		}
		c.Seq = seq
		select {
		case queues[seq%len(queues)] <- c:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// failed names the file in an error of reading.
func (f *File) failed(err error) error {
	switch {
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("%s: the file ends too early; copy or export it again", f.Path)
	case f.Packing != "":
		return fmt.Errorf("%s: can't unpack %s: %w; copy or export it again", f.Path, f.Packing, err)
	}
	return fmt.Errorf("%s: %w", f.Path, err)
}
