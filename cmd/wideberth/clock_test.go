package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

// TestClockComesIn holds that main hands the machine's clock and zone to everything
// else: no other file asks for them, so that a test on any day sees what it would on
// every other. A test may take the time that something took, told by time.Since.
func TestClockComesIn(t *testing.T) {
	root := filepath.Join("..", "..")
	files, asked := 0, 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || path != root && strings.HasPrefix(d.Name(), ".") && d.Name() != "..") {
			return filepath.SkipDir
		}
		if filepath.Ext(path) != ".go" {
			return nil
		}
		files++
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, path, nil, 0)
		if err != nil {
			return err
		}
		for _, call := range clockReads(f, strings.HasSuffix(path, "_test.go")) {
			if asked++; path != filepath.Join(root, "cmd", "wideberth", "main.go") {
				t.Errorf("%s asks for the machine's clock or zone: let it come in", set.Position(call.Pos()))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 100 || asked != 1 {
		t.Errorf("%d files read, the clock is taken %d times; want it once, in main.go", files, asked)
	}
}

// clockReads lists the places of a file that ask for the time now or the machine's
// zone. With measured, taking a duration is no such place: a variable set to the time
// now and read by time.Since only.
func clockReads(f *ast.File, measured bool) (out []ast.Node) {
	for _, d := range f.Decls {
		durations := map[ast.Node]bool{}
		if measured {
			durations = durationsOf(d)
		}
		ast.Inspect(d, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				if s, ok := n.Fun.(*ast.SelectorExpr); ok && s.Sel.Name == "Local" && len(n.Args) == 0 {
					out = append(out, n)
				}
			case *ast.SelectorExpr:
				if isTime(n, "Now") || isTime(n, "Local") || isTime(n, "Since") || isTime(n, "Until") {
					out = append(out, n)
				}
			}
			return !durations[n]
		})
	}
	return out
}

// durationsOf lists the calls by which a declaration takes durations.
func durationsOf(d ast.Decl) map[ast.Node]bool {
	calls := map[string][]ast.Node{}
	uses := map[string]int{}
	ast.Inspect(d, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			if v, ok := n.Lhs[0].(*ast.Ident); ok && len(n.Rhs) == 1 {
				if call, ok := n.Rhs[0].(*ast.CallExpr); ok && isTime(call.Fun, "Now") {
					calls[v.Name] = append(calls[v.Name], n.Rhs[0])
				}
			}
		case *ast.CallExpr:
			if isTime(n.Fun, "Since") && len(n.Args) == 1 {
				if v, ok := n.Args[0].(*ast.Ident); ok {
					calls[v.Name] = append(calls[v.Name], n)
				}
			}
		case *ast.Ident:
			uses[n.Name]++
		}
		return true
	})
	out := map[ast.Node]bool{}
	for name, list := range calls {
		for _, n := range list {
			out[n] = uses[name] == len(list)
		}
	}
	return out
}

// isTime says whether something is such a name of package time.
func isTime(e ast.Node, name string) bool {
	s, ok := e.(*ast.SelectorExpr)
	if !ok || s.Sel.Name != name {
		return false
	}
	x, ok := s.X.(*ast.Ident)
	return ok && x.Name == "time"
}
