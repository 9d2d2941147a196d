package pgserver

// Programs are the server programs that a new cluster would be made with.
type Programs struct {
	Dir   string // the folder of postgres and initdb
	Major int    // PostgreSQL's major version
}

// Find looks for server programs as Acquire does for a new cluster. It changes nothing; its error, which wraps
// ErrNoPostgres, names the ways out.
func Find(cfg Config) (Programs, error) {
	b, err := findBinaries(cfg, 0)
	if err != nil {
		return Programs{}, err
	}
	return Programs{Dir: b.dir, Major: b.major}, nil
}
