package history

import (
	"errors"
	"fmt"
	"io/fs"
)

// ShopMark is what a bundle of tallies carries in place of the shop's name: the same for every bundle of one history, and
// a keyed hash of a constant, so that it says nothing about the shop. A folder without a history is ErrNoHistory.
func ShopMark(dir string) (Key, error) {
	s, err := loadSecret(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return Key{}, fmt.Errorf("%w: %s holds no key", ErrNoHistory, dir)
	}
	if err != nil {
		return Key{}, err
	}
	return s.key("bundle", "shop"), nil
}
