package web

import (
	"encoding/json"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// onPhone runs a script over the phone's own modules, in folder ./log beside it, and
// reads the JSON that it prints. It is skipped where there is no Node.
func onPhone(t *testing.T, script string, given, into any) {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("no Node on PATH: the phone's rules are not tried; install it to run this test")
	}
	dir := t.TempDir()
	modules, err := fs.Sub(os.DirFS("static"), "log")
	if err != nil {
		t.Fatal(err)
	}
	input, err := json.Marshal(given)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(filepath.Join(dir, "log"), modules); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"package.json": `{"type": "module"}`, "given.json": string(input),
		"main.js": "import { readFileSync } from \"node:fs\";\nconst given = JSON.parse(readFileSync(\"given.json\", \"utf8\"));\nconst say = (v) => console.log(JSON.stringify(v));\n" + script} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	run := exec.CommandContext(t.Context(), node, "main.js")
	run.Dir, run.Stderr = dir, os.Stderr
	out, err := run.Output()
	if err != nil {
		t.Fatalf("run it: %v", err)
	}
	if err := json.Unmarshal(out, into); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
}
