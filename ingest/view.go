package ingest

import "unsafe"

// view reads bytes as a string without copying them. The string lives only as long as the bytes
// keep their content: until the chunk or held record they lie in is released.
func view(b []byte) string {
	if len(b) == 0 {
		return ""
	}
	return unsafe.String(&b[0], len(b))
}

// bytesOf reads a string as bytes without copying them. They must not be changed.
func bytesOf(s string) []byte { return unsafe.Slice(unsafe.StringData(s), len(s)) }
