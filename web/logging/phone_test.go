package logging

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// runOnPhone runs a script beside the phone's own modules and returns what it
// prints. The test is left out where there is no Node.
func runOnPhone(t *testing.T, script string, in []byte) []byte {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("Node is not on PATH: the phone's rules are not tried")
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../static/log")); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"package.json": `{"type":"module"}`, "script.mjs": script} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out, complaints bytes.Buffer
	cmd := exec.CommandContext(t.Context(), node, "script.mjs")
	cmd.Dir, cmd.Stdin, cmd.Stdout, cmd.Stderr = dir, bytes.NewReader(in), &out, &complaints
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v: %s", err, complaints.String())
	}
	return out.Bytes()
}

// onPhone runs a script that finds what is given to it as given, and reads what
// it says with say.
func onPhone(t *testing.T, script string, given, into any) {
	t.Helper()
	in, err := json.Marshal(given)
	if err != nil {
		t.Fatal(err)
	}
	out := runOnPhone(t, `import { text } from "node:stream/consumers";
const given = JSON.parse(await text(process.stdin));
const say = (v) => console.log(JSON.stringify(v));
`+script, in)
	if err := json.Unmarshal(out, into); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
}
