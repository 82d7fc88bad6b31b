package main

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"io"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestPackagesIntroduceThemselves: each package that others import says in a comment
// what it is, and shows how it is used by an example whose output is compared.
func TestPackagesIntroduceThemselves(t *testing.T) {
	out, err := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Dir,Doc,Imports,TestGoFiles,XTestGoFiles", "wideberth/...", "wideberth/testdata").Output()
	if err != nil {
		t.Fatal(err)
	}
	type listed struct {
		ImportPath, Dir, Doc               string
		Imports, TestGoFiles, XTestGoFiles []string
	}
	var all []listed
	imported := map[string]bool{}
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
		for _, i := range p.Imports {
			imported[i] = true
		}
	}
	if len(all) < 30 {
		t.Fatalf("only %d packages are listed", len(all))
	}
	for _, p := range all {
		if !imported[p.ImportPath] {
			continue
		}
		if p.Doc == "" {
			t.Errorf("%s has no package comment", p.ImportPath)
		}
		var files []*ast.File
		for _, name := range slices.Concat(p.TestGoFiles, p.XTestGoFiles) {
			f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(p.Dir, name), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, f)
		}
		if !slices.ContainsFunc(doc.Examples(files...), func(e *doc.Example) bool { return e.Output != "" }) {
			t.Errorf("%s has no example with output", p.ImportPath)
		}
	}
}
