package analysis

import (
	"context"
	"fmt"
	"sync"

	"golang.org/x/sync/errgroup"
)

// atOnce is how many questions are asked side by side: while one waits for the database the other computes, and what they
// hold in memory stays bounded.
const atOnce = 2

// askAll asks the questions, each once those it comes after are answered. The answers don't depend on which is first.
func (r *run) askAll(ctx context.Context, list []question, progress func(stage string, done int)) error {
	answered := map[string]chan struct{}{}
	for _, q := range list {
		answered[q.name] = make(chan struct{})
	}
	turns := make(chan struct{}, atOnce)
	var mu sync.Mutex
	done := 0
	work, ctx := errgroup.WithContext(ctx)
	for _, q := range list {
		work.Go(func() error {
			for _, name := range q.after {
				select {
				case <-answered[name]:
				case <-ctx.Done():
					return ctx.Err()
				}
			}
			select {
			case turns <- struct{}{}:
				defer func() { <-turns }()
			case <-ctx.Done():
				return ctx.Err()
			}
			mu.Lock()
			progress(q.name, done+1)
			mu.Unlock()
			if err := q.ask(ctx, r); err != nil {
				return fmt.Errorf("%s: %w", q.name, err)
			}
			mu.Lock()
			done++
			mu.Unlock()
			close(answered[q.name])
			return nil
		})
	}
	return work.Wait()
}
