package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// asvs is how many points each section of chapters V6, V7, V8 and V12 of the OWASP Application Security Verification
// Standard 5.0.0 has, by its published CSV.
var asvs = map[string][]int{"6": {3, 12, 8, 6, 8, 4, 2, 4}, "7": {3, 4, 2, 5, 3, 2}, "8": {4, 4, 3, 2}, "12": {5, 2, 5}}

// Ensure that docs/security.md judges every point of these chapters once, counts right, and names files and tests that there are.
func TestSecurityTable(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(projectFolder(t), "docs", "security.md"))
	if err != nil {
		t.Fatal(err)
	}
	counts := map[string]int{}
	judged := map[string]bool{}
	for _, row := range regexp.MustCompile(`(?m)^\| (\d+\.\d+\.\d+) \| [123] \| [^|]+ \| (met|partly|no|does not apply) \| [^|]+ \|$`).FindAllStringSubmatch(string(text), -1) {
		if counts[row[2]]++; judged[row[1]] {
			t.Errorf("%s is judged twice", row[1])
		}
		judged[row[1]] = true
	}
	all := 0
	for chapter, sections := range asvs {
		for section, points := range sections {
			for point := range points {
				all++
				if at := fmt.Sprintf("%s.%d.%d", chapter, section+1, point+1); !judged[at] {
					t.Errorf("%s is not judged", at)
				}
			}
		}
	}
	says := fmt.Sprintf("Of %d points %d are met, %d partly, %d are not, and %d do not apply.", all, counts["met"], counts["partly"], counts["no"], counts["does not apply"])
	if len(judged) != all || !strings.Contains(string(text), says) {
		t.Errorf("%d points are judged; want the sentence %q", len(judged), says)
	}
	tests := testNames(t)
	for _, m := range regexp.MustCompile("`([^`\n]+)`").FindAllStringSubmatch(string(text), -1) {
		switch name := m[1]; {
		case regexp.MustCompile(`^Test[A-Z]\w*$`).MatchString(name):
			if !slices.Contains(tests, name) {
				t.Errorf("there is no test %s", name)
			}
		case regexp.MustCompile(`^[a-z]\w*/[\w/.-]+\.(go|sql|html|sh)$`).MatchString(name):
			if _, err := os.Stat(filepath.Join(projectFolder(t), name)); err != nil {
				t.Errorf("there is no file %s", name)
			}
		}
	}
}

// testNames are those of all tests of the project.
func testNames(t *testing.T) (names []string) {
	t.Helper()
	err := filepath.WalkDir(projectFolder(t), func(path string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() && (d.Name() == "node_modules" || strings.HasPrefix(d.Name(), ".")) {
			return filepath.SkipDir
		}
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllSubmatch(text, -1) {
			names = append(names, string(m[1]))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}
