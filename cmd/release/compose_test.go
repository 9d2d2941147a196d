package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"
)

// Ensure that docker-compose.yml can be read, gives the program the role that owns nothing, and asks for every
// password. No container is run: that needs Docker.
func TestComposeFile(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join("..", "..", "docker-compose.yml"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Services map[string]struct {
			Environment map[string]string
			Volumes     []string
		}
	}
	if err := yaml.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	for service, roles := range map[string]map[string]string{
		"rigtally": {"RIGTALLY_DATABASE_URL": "postgres://rigtally_app:${RIGTALLY_APP_PASSWORD:?", "RIGTALLY_MIGRATE_URL": "postgres://rigtally_keeper:${RIGTALLY_KEEPER_PASSWORD:?"},
		"database": {"POSTGRES_PASSWORD": "${POSTGRES_PASSWORD:?", "RIGTALLY_KEEPER_PASSWORD": "${RIGTALLY_KEEPER_PASSWORD:?", "RIGTALLY_APP_PASSWORD": "${RIGTALLY_APP_PASSWORD:?"},
	} {
		environment := file.Services[service].Environment
		for name, begins := range roles {
			if !strings.HasPrefix(environment[name], begins) {
				t.Errorf("%s: %s is %q, should begin with %q", service, name, environment[name], begins)
			}
		}
	}
	for _, volume := range file.Services["database"].Volumes {
		if from, _, _ := strings.Cut(volume, ":"); strings.HasPrefix(from, "./") {
			if _, err := os.Stat(filepath.Join("..", "..", from)); err != nil {
				t.Errorf("the compose file names what is not there: %v", err)
			}
		}
	}
}
