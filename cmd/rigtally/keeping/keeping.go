// Package keeping is the commands "rigtally backups": look at backups, make them, try them and bring them back.
package keeping

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
	"rigtally/journal/archive"
	"rigtally/journal/exchange"
)

const example = `  rigtally backups list
  rigtally backups make
  rigtally backups verify last
  rigtally backups restore 2026-11-29T1723Z-daily.rigtally`

// backups are the commands of one run of the program.
type backups struct{ *command.Program }

// Command is "rigtally backups".
func Command(p *command.Program) *cobra.Command {
	b := backups{p}
	return command.Group(&cobra.Command{
		Use:   "backups",
		Short: "Look at the backups of the journal, make, try and restore them",
		Long: `A backup holds everything in the journal's database: all outfits, people and how they sign
in, history, and what can be taken back. One is made each day on which something was
written, before the tables change, and before many rows are imported or a backup is restored.
Kept are those of 7 days, 5 weeks and 12 months, the last 5 of each other kind, and all that
you make yourself.

They are in the folder backups in the data folder. The same disk is no second place: name
a folder on another one with the setting backup_dir. With backup_passphrase_file, a file
that holds a passphrase, they are encrypted. backups = "off" makes none by itself.`,
		Example: example,
	}, b.list(), b.make(), b.verify(), b.restore())
}

// whereIs finds a backup by its path, its name in the folder of the backups, or "last".
func (b backups) whereIs(name string) (string, error) {
	folder, err := b.BackupFolder()
	if err != nil {
		return "", err
	}
	if strings.EqualFold(name, command.Last) {
		all, _, err := folder.List()
		if err != nil {
			return "", err
		}
		if len(all) == 0 {
			return "", fmt.Errorf("there is no backup in %s yet; make one with rigtally backups make", folder.Dir)
		}
		return filepath.Join(folder.Dir, all[0].Name), nil
	}
	for _, path := range []string{name, filepath.Join(folder.Dir, name)} {
		if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() {
			return path, nil
		}
	}
	return "", fmt.Errorf("there is no backup %s, neither there nor in %s; rigtally backups list shows those that are", name, folder.Dir)
}

// names are those of the backups in the folder, for a shell to complete with.
func (b backups) names(more ...string) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) (list []string, _ cobra.ShellCompDirective) {
		var err error
		if b.Settings, err = command.ReadSettings(cmd.Flags(), b.Env); err != nil || len(args) > 0 {
			return nil, cobra.ShellCompDirectiveDefault
		}
		if folder, err := b.BackupFolder(); err == nil {
			all, _, _ := folder.List()
			list = command.Keys(all, func(f archive.File) string { return f.Name + "\t" + f.Head.Why.String() })
		}
		return append(list, more...), cobra.ShellCompDirectiveDefault
	}
}

// passphrase is that of an encrypted backup: the file's that a setting names, else it is asked for.
func (b backups) passphrase() (string, error) {
	if phrase, err := b.BackupPassphrase(); phrase != "" || err != nil {
		return phrase, err
	}
	return b.Secret("Passphrase of the backup: ")
}

// newPassphrase asks twice for a passphrase to encrypt with.
func (b backups) newPassphrase() (string, error) {
	b.Note("Whoever loses the passphrase has lost the backup.")
	first, err := b.Secret("Passphrase: ")
	if err != nil {
		return "", err
	}
	again, err := b.Secret("Again: ")
	switch {
	case err != nil:
		return "", err
	case first == "":
		return "", errors.New("an empty passphrase protects nothing; type one, or leave --encrypt out")
	case first != again:
		return "", errors.New("the two are not the same; nothing was made, try again")
	}
	return first, nil
}

func (b backups) make() *cobra.Command {
	var to string
	var encrypt bool
	cmd := &cobra.Command{
		Use:   "make",
		Short: "Make a backup now, in the folder of the backups or elsewhere",
		Long: `Make a backup of everything in the journal's database, while others go on writing. It is
read again to its last byte before it gets its name. Without --to it goes to the folder of
the backups, from which those made by this command are never removed.`,
		Example: "  rigtally backups make\n  rigtally backups make --encrypt --to /media/stick/journal.rigtally",
		Args:    command.None,
		RunE: b.Do(func(ctx context.Context, _ []string) error {
			phrase, err := b.BackupPassphrase()
			if err == nil && encrypt && phrase == "" {
				phrase, err = b.newPassphrase()
			}
			if err != nil {
				return err
			}
			return b.inDatabase(ctx, func(ctx context.Context, conn *pgx.Conn) error { return b.makeOne(ctx, conn, to, phrase) })
		}),
	}
	cmd.Flags().StringVar(&to, "to", "", "`file` to write instead, which must not be there")
	cmd.Flags().BoolVar(&encrypt, "encrypt", false, "encrypt it with a passphrase that is asked for")
	return cmd
}

func (b backups) makeOne(ctx context.Context, conn *pgx.Conn, to, phrase string) error {
	head := b.BackupHead(archive.ByHand)
	if version, err := archive.Version(ctx, conn); err != nil || version == 0 {
		return cmp.Or(err, errors.New("there is no journal yet; nothing was made"))
	}
	if to != "" {
		w, err := archive.WriteFile(ctx, conn, to, head, phrase)
		return b.Did(refused(err), "Wrote %s: %s.\n", to, holds(w.End))
	}
	folder, err := b.BackupFolder()
	if err != nil {
		return err
	}
	made, w, err := folder.Make(ctx, conn, head, phrase)
	return b.Did(refused(err), "Wrote %s: %s.\n", filepath.Join(folder.Dir, made.Name), holds(w.End))
}

// refused says what to do where the rows of others would be hidden.
func refused(err error) error {
	if err != nil && strings.Contains(err.Error(), "row-level security") {
		return fmt.Errorf("this PostgreSQL shows its user one outfit at a time, so no backup of everything can be made by it: back it up there, as its superuser, "+
			"such as by pg_dump, and each outfit with rigtally export; or name a user with the right BYPASSRLS with migrate_url: %w", err)
	}
	return err
}

// inDatabase connects to the journal's database as who may read all of it.
func (b backups) inDatabase(ctx context.Context, use func(context.Context, *pgx.Conn) error) error {
	with := func(ctx context.Context, url string) error {
		conn, err := pgx.Connect(ctx, url)
		if err != nil {
			return fmt.Errorf("connect to the journal's database: %w", err)
		}
		defer conn.Close(context.WithoutCancel(ctx))
		return use(ctx, conn)
	}
	if b.Settings.DatabaseURL != "" {
		return with(ctx, cmp.Or(b.Settings.MigrateURL, b.Settings.DatabaseURL))
	}
	return b.InServer(ctx, b.Server(), func(ctx context.Context, server *pgserver.Server) error {
		return with(ctx, server.URL(command.DatabaseName))
	})
}

// holds says in words what a backup holds.
func holds(e archive.End) string {
	var list []string
	const most = 3
	for i, o := range e.Outfits {
		if i == most {
			list = append(list, fmt.Sprintf("%d more outfits", len(e.Outfits)-most))
			break
		}
		list = append(list, fmt.Sprintf("%s %d", o.Name, o.Sessions))
	}
	text := fmt.Sprintf("%d rows of %d tables, %s", e.Rows(), len(e.Tables), exchange.Counted(int(e.Sessions()), "session"))
	if len(list) > 1 {
		text += " (" + strings.Join(list, ", ") + ")"
	}
	return text
}

// proven notes which files were restored to try them, by their sums: one that was changed since is another.
type proven map[string]time.Time

func provenName(folder archive.Folder) string { return filepath.Join(folder.Dir, ".verified.json") }

func readProven(folder archive.Folder) proven {
	known := proven{}
	if text, err := os.ReadFile(provenName(folder)); err == nil {
		_ = json.Unmarshal(text, &known) // of one that can't be read nothing is known
	}
	return known
}

func (p proven) keep(folder archive.Folder) error {
	file, err := terminal.WriteNew(provenName(folder), true, func(w io.Writer) error { return terminal.WriteJSON(w, p) })
	if err != nil {
		return err
	}
	defer file.Discard()
	return file.Keep()
}
