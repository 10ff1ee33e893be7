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
