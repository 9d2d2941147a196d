package keeping

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/journal/archive"
)

// listed is a backup in the list.
type listed struct {
	Name     string                 `json:"name"`
	MadeAt   *time.Time             `json:"made_at"`
	Why      archive.Why            `json:"why,omitempty"`
	Bytes    int64                  `json:"bytes"`
	Schema   int64                  `json:"schema,omitempty"`
	Program  string                 `json:"program,omitempty"`
	Tables   int                    `json:"tables,omitempty"`
	Rows     int64                  `json:"rows,omitempty"`
	Sessions int64                  `json:"sessions,omitempty"`
	Outfits  []archive.OutfitNumber `json:"outfits,omitempty"`
	Locked   bool                   `json:"encrypted"`
	Verified *time.Time             `json:"verified_at"`
	Damage   string                 `json:"damage,omitempty"`
}

func (b backups) list() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the backups in their folder, each held against its sums",
		Long: `List the backups in their folder, the newest first: when and why each was made, what it
holds, and when it was last tried by rigtally backups verify. Every byte is held against
its sums. What an encrypted one holds is not shown.`,
		Example: "  rigtally backups list\n  rigtally backups list --format json",
		Args:    command.None,
	}
	form := command.Form(cmd, command.Text, command.JSON)
	cmd.RunE = b.Do(func(context.Context, []string) error {
		folder, err := b.BackupFolder()
		if err != nil {
			return err
		}
		all, err := lookInto(folder)
		if err != nil {
			return err
		}
		failed, err := b.BackupFailure()
		if err != nil {
			return err
		}
		if *form == command.JSON {
			return b.JSON(map[string]any{"folder": folder.Dir, "backups": all, "last_failure": failed})
		}
		return b.show(folder, all, failed)
	})
	return cmd
}

func lookInto(folder archive.Folder) ([]listed, error) {
	files, unreadable, err := folder.List()
	if err != nil {
		return nil, err
	}
	known := readProven(folder)
	all := []listed{}
	for _, file := range files {
		l := listed{Name: file.Name, MadeAt: &file.Head.MadeAt, Why: file.Head.Why, Bytes: file.Size, Schema: file.Head.Schema, Program: file.Head.Program, Locked: file.Head.Encrypted}
		checked, err := check(filepath.Join(folder.Dir, file.Name))
		if err != nil {
			l.Damage = err.Error()
		}
		if checked.End != nil {
			l.Tables, l.Rows, l.Sessions, l.Outfits = len(checked.End.Tables), checked.End.Rows(), checked.End.Sessions(), checked.End.Outfits
		}
		if at, ok := known[checked.Hash.String()]; ok && err == nil {
			l.Verified = &at
		}
		all = append(all, l)
	}
	for _, name := range unreadable {
		_, err := check(filepath.Join(folder.Dir, name))
		all = append(all, listed{Name: name, Damage: fmt.Sprint(err)})
	}
	return all, nil
}

func check(path string) (archive.Checked, error) {
	file, err := os.Open(path)
	if err != nil {
		return archive.Checked{}, fmt.Errorf("the backup can't be opened: %w", err)
	}
	defer file.Close()
	return archive.Check(file)
}

func (b backups) show(folder archive.Folder, all []listed, failed string) error {
	b.Printf("In %s:\n\n", folder.Dir)
	rows := make([][]string, len(all))
	for i, l := range all {
		row := []string{"", l.Why.String(), bytesSaid(l.Bytes), "", "", "never", l.Name}
		if l.MadeAt != nil {
			row[0] = l.MadeAt.Local().Format("2006-01-02 15:04")
		} else {
			row[1], row[2] = "", ""
		}
		switch {
		case l.Damage != "":
			row[5] = "DAMAGED"
		case l.Verified != nil:
			row[5] = l.Verified.Local().Format(time.DateOnly)
		}
		if l.Locked {
			row[3], row[4] = "encrypted", "encrypted"
		} else if l.Tables > 0 {
			row[3], row[4] = strconv.FormatInt(l.Rows, 10), sessionsSaid(l)
		}
		rows[i] = row
	}
	if len(all) == 0 {
		b.Printf("No backup yet. One is made each day on which something is written; rigtally backups make makes one now.\n")
	} else if err := b.Table([]string{"Made", "Why", "Size", "Rows", "Sessions", "Verified", "Name"}, rows); err != nil {
		return err
	}
	for _, l := range all {
		if l.Damage != "" {
			b.Printf("\n%s: %s.\n", l.Name, l.Damage)
		}
	}
	if failed != "" {
		b.Printf("\nThe last backup failed, %s\n", failed)
	}
	if b.Settings.NoBackups {
		b.Printf("\nNone are made by themselves: backups is off.\n")
	}
	return nil
}

// sessionsSaid says how many sessions each outfit has, where there are few of these.
func sessionsSaid(l listed) string {
	text := strconv.FormatInt(l.Sessions, 10)
	if n := len(l.Outfits); n > 1 {
		text += fmt.Sprintf(" of %d outfits", n)
	}
	return text
}

func bytesSaid(n int64) string {
	if n < 1_000_000 {
		return fmt.Sprintf("%d kB", (n+999)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}
