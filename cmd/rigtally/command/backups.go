package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/archive"
)

const (
	bulk         = 50 // rows of an import before which a backup is made
	lookEvery    = time.Hour
	quietFor     = time.Second // of a backup by itself
	failureNote  = "backup-failed.txt"
	usualBackups = "backups" // folder in the data folder
)

// Backups are those that the program makes of the journal by itself. Nil makes none.
type Backups struct {
	program *Program
	url     string // of the database, for a superuser
	folder  archive.Folder
	journal journal.ID // its first outfit, by which its backups are known
}

// BackupFolder is where backups are kept.
func (p *Program) BackupFolder() (archive.Folder, error) {
	if p.Settings.BackupDir != "" {
		return archive.Folder{Dir: p.Settings.BackupDir}, nil
	}
	dir, err := p.dataDir()
	return archive.Folder{Dir: filepath.Join(dir, usualBackups)}, err
}

func (p *Program) dataDir() (string, error) {
	if p.Settings.DataDir != "" {
		return p.Settings.DataDir, nil
	}
	return pgserver.DefaultDataDir()
}

// backupsOf are the backups of the journal in a private server, unless they are turned off.
func (p *Program) backupsOf(server *pgserver.Server) (*Backups, error) {
	if p.Settings.NoBackups {
		return nil, nil
	}
	folder, err := p.BackupFolder()
	return &Backups{program: p, url: server.URL(DatabaseName), folder: folder}, err
}

// BackupHead says when, why and by which program a backup is made.
func (p *Program) BackupHead(why archive.Why) archive.Head {
	program := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		program = cmp.Or(info.Main.Version, program)
	}
	return archive.Head{MadeAt: p.Now(), Why: why, Program: program}
}

// BackupPassphrase is the passphrase of backups that are made without asking: what the file holds that a setting names;
// "" where there is none.
func (p *Program) BackupPassphrase() (string, error) {
	name := p.Settings.BackupPassphraseFile
	if name == "" {
		return "", nil
	}
	info, err := os.Stat(name)
	if err != nil {
		return "", fmt.Errorf("the file with the passphrase of backups can't be read: %w; correct the setting backup_passphrase_file", err)
	}
	if open := info.Mode().Perm() & 0o077; open != 0 && filepath.Separator == '/' {
		return "", fmt.Errorf("others can read the file with the passphrase of backups; keep it to yourself: chmod 600 %s", name)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return "", fmt.Errorf("the file with the passphrase of backups can't be read: %w; correct the setting backup_passphrase_file", err)
	}
	phrase := strings.TrimRight(string(text), "\r\n")
	if phrase == "" {
		return "", fmt.Errorf("the file with the passphrase of backups, %s, is empty; write it there, on one line", name)
	}
	return phrase, nil
}

// make makes a backup, and keeps a note while that fails.
func (b *Backups) make(ctx context.Context, conn *pgx.Conn, why archive.Why) (archive.File, error) {
	phrase, err := b.program.BackupPassphrase()
	var made archive.File
	if err == nil {
		made, _, err = b.folder.Make(ctx, conn, b.program.BackupHead(why), phrase)
	}
	if ctx.Err() == nil {
		b.program.noteBackup(err)
	}
	return made, err
}

// noteBackup keeps why the last backup failed, until one does not.
func (p *Program) noteBackup(err error) {
	dir, failed := p.dataDir()
	if failed != nil {
		return
	}
	name := filepath.Join(dir, failureNote)
	if err == nil {
		_ = os.Remove(name)
		return
	}
	text := fmt.Sprintf("%s: %v\n", p.Now().Format("2006-01-02 15:04"), err)
	_ = os.WriteFile(name, []byte(text), 0o600) // on a disk that is full, too: it is said each time all the same
}

// BackupFailure says why the last backup failed, and when; "" if it did not.
func (p *Program) BackupFailure() (string, error) {
	dir, err := p.dataDir()
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(dir, failureNote))
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	return strings.TrimSpace(string(text)), err
}

func (b *Backups) connect(ctx context.Context) (*pgx.Conn, error) {
	conn, err := pgx.Connect(ctx, b.url)
	if err != nil {
		return nil, fmt.Errorf("connect to make a backup: %w", err)
	}
	return conn, nil
}

// must makes a backup before something that may lose much, unless the last one is as the journal is, and says where it is.
func (b *Backups) must(ctx context.Context, why archive.Why, before string) error {
	if b == nil {
		return nil
	}
	err := func() error {
		conn, err := b.connect(ctx)
		if err != nil {
			return err
		}
		defer conn.Close(context.WithoutCancel(ctx))
		said := "The last backup holds what is there before %s: %s"
		kept, held, err := b.held(ctx, conn)
		if err == nil && !held {
			said = "Kept a backup before %s: %s"
			kept, err = b.make(ctx, conn, why)
		}
		if err == nil {
			b.program.Note(said, before, filepath.Join(b.folder.Dir, kept.Name))
		}
		return err
	}()
	if err != nil {
		return fmt.Errorf("no backup could be made before %s, so nothing was changed: %w; or go on without one: --backups off", before, err)
	}
	return nil
}

// held reports whether the last backup holds what the journal holds now.
func (b *Backups) held(ctx context.Context, conn *pgx.Conn) (last archive.File, held bool, err error) {
	state, err := archive.State(ctx, conn)
	if err != nil || state == "" {
		return last, false, err
	}
	all, _, err := b.folder.List()
	if err != nil || len(all) == 0 {
		return last, false, err
	}
	return all[0], all[0].Head.State == state, nil
}

// beforeMigration keeps the tables as an earlier program left them.
func (b *Backups) beforeMigration(ctx context.Context) error {
	return b.mustIfAny(ctx, archive.BeforeMigration, "the tables are brought up to date")
}

// BackupBeforeUpgrade makes a backup of the journal in a private server before it moves into a newer PostgreSQL.
func (p *Program) BackupBeforeUpgrade(ctx context.Context, server *pgserver.Server) error {
	b, err := p.backupsOf(server)
	if err != nil {
		return err
	}
	return b.mustIfAny(ctx, archive.BeforeUpgrade, "the upgrade")
}

// mustIfAny is must where there are tables.
func (b *Backups) mustIfAny(ctx context.Context, why archive.Why, before string) error {
	if b == nil {
		return nil
	}
	conn, err := b.connect(ctx)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	version, err := archive.Version(ctx, conn)
	if err != nil || version == 0 {
		return err
	}
	return b.must(ctx, why, before)
}

// BeforeImport makes a backup before many rows are brought into a journal that has sessions.
func (b *Backups) BeforeImport(ctx context.Context, rows int) error {
	if b == nil || rows <= bulk {
		return nil
	}
	conn, err := b.connect(ctx)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var sessions bool
	if err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM session)`).Scan(&sessions); err != nil || !sessions {
		return err
	}
	return b.must(ctx, archive.BeforeImport, "the import")
}

// BeforeRestore makes a backup before one is merged into the journal.
func (b *Backups) BeforeRestore(ctx context.Context) error {
	return b.must(ctx, archive.BeforeRestore, "the restore")
}

// OfTheDay makes a backup of the day, if one is due. A failure is said, and is nobody's who did something else.
func (b *Backups) OfTheDay(ctx context.Context) {
	if b == nil || ctx.Err() != nil {
		return
	}
	slow := time.AfterFunc(quietFor, func() { b.program.Note("Making the backup of the day.") })
	err := b.ofTheDay(ctx)
	slow.Stop()
	if err != nil && ctx.Err() == nil {
		b.program.Note("rigtally: NO BACKUP was made of today's journal: %v", err)
	}
}

func (b *Backups) ofTheDay(ctx context.Context) error {
	conn, err := b.connect(ctx)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if empty, err := archive.Empty(ctx, conn); err != nil || empty {
		return err
	}
	state, err := archive.State(ctx, conn)
	if err != nil {
		return err
	}
	of, err := archive.First(ctx, conn)
	if err != nil {
		return err
	}
	due, err := b.folder.Due(b.program.Now(), of, state)
	if err == nil && due {
		_, err = b.make(ctx, conn, archive.Daily)
		return err
	}
	if err != nil {
		b.program.noteBackup(err)
	}
	return err
}

// Hourly looks each hour whether the backup of the day is due, until it is stopped.
func (b *Backups) Hourly(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(lookEvery)
		defer tick.Stop()
		for b != nil {
			b.OfTheDay(ctx)
			select {
			case <-tick.C:
			case <-ctx.Done():
				return
			}
		}
	}()
	return func() { cancel(); <-ended }
}

// Last tells when the journal's last backup was made, and why the last one failed; zero and "" where there is none of
// that.
func (b *Backups) Last() (at time.Time, failed string) {
	all, _, err := b.folder.List()
	if i := slices.IndexFunc(all, func(file archive.File) bool { return file.Head.Journal == b.journal }); i >= 0 {
		at = all[i].Head.MadeAt
	}
	if err == nil {
		failed, err = b.program.BackupFailure()
	}
	if err != nil {
		failed = err.Error()
	}
	return at, failed
}
