//go:build !linux

package flatfile

func rest([]byte) {}
