package pg

import (
	"context"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Anglers lists the outfit's anglers by name.
func (s *Store) Anglers(ctx context.Context) ([]journal.Angler, error) {
	list, err := anglerTable.of(ctx, s.pool, s.outfit, "true ORDER BY lower(name)")
	return list, explain("list the anglers", err)
}

// SaveAngler adds an angler, or changes the one of the same id.
func (s *Store) SaveAngler(ctx context.Context, a journal.Angler) error {
	if err := a.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "save the angler "+a.Name, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, anglerTable.upsert("outfit_id, id"), anglerTable.row(&a, s.outfit)...)
		return err
	})
}

// Waters lists the outfit's waters by name, each with its beats.
func (s *Store) Waters(ctx context.Context) ([]journal.Water, error) {
	waters, err := s.readWaters(ctx, s.pool, "lower(name), id")
	return waters, explain("list the waters", err)
}

// SaveWater adds a water with its beats, or changes the one of the same id.
// Beats that it does not name are kept.
func (s *Store) SaveWater(ctx context.Context, w journal.Water) error {
	if err := w.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "save the water "+w.Name, func(tx pgx.Tx) error {
		batch := &pgx.Batch{}
		batch.Queue(waterTable.upsert("outfit_id, id"), waterTable.row(&w, s.outfit)...)
		for i := range w.Beats {
			batch.Queue(beatTable.insert()+` ON CONFLICT (outfit_id, id) DO UPDATE SET name = excluded.name`, beatTable.row(&w.Beats[i], s.outfit, w.ID)...)
		}
		return tx.SendBatch(ctx, batch).Close()
	})
}

// AnglerByName finds an angler without regard to case, or ErrNotFound.
func (s *Store) AnglerByName(ctx context.Context, name string) (journal.Angler, error) {
	list, err := anglerTable.of(ctx, s.pool, s.outfit, "lower(name) = lower($2)", strings.TrimSpace(name))
	if err == nil && len(list) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		return journal.Angler{}, explain("find the angler "+name, err)
	}
	return list[0], nil
}

// WaterByName finds a water without regard to case, or ErrNotFound.
func (s *Store) WaterByName(ctx context.Context, name string) (journal.Water, error) {
	waters, err := s.Waters(ctx)
	if err != nil {
		return journal.Water{}, err
	}
	for _, w := range waters {
		if strings.EqualFold(w.Name, strings.TrimSpace(name)) {
			return w, nil
		}
	}
	return journal.Water{}, explain("find the water "+name, pgx.ErrNoRows)
}

// AnglerNamed finds an angler or adds a client of that name.
func (s *Store) AnglerNamed(ctx context.Context, name string) (journal.Angler, error) {
	err := s.taking(ctx, journal.Draft{Angler: name}, func(tx pgx.Tx, d journal.Draft) error {
		_, err := s.takeAngler(ctx, tx, d.Angler, journal.Client)
		return err
	})
	if err != nil {
		return journal.Angler{}, err
	}
	return s.AnglerByName(ctx, name)
}

// WaterNamed finds a water or adds one of that name, of kind other, in the
// outfit's time zone. A beat, unless empty, is found or added in the same way.
func (s *Store) WaterNamed(ctx context.Context, name, beat string) (journal.Water, *journal.ID, error) {
	var session journal.Session
	err := s.taking(ctx, journal.Draft{Water: name, Beat: beat}, func(tx pgx.Tx, d journal.Draft) error {
		return s.settlePlace(ctx, tx, d, &session)
	})
	if err != nil {
		return journal.Water{}, nil, err
	}
	w, err := s.WaterByName(ctx, name)
	return w, session.BeatID, err
}

// taking runs f, which finds or makes what a draft names.
func (s *Store) taking(ctx context.Context, d journal.Draft, f func(pgx.Tx, journal.Draft) error) error {
	d.Normalize()
	if err := d.CheckNames(); err != nil {
		return err
	}
	return s.write(ctx, "add a name to the journal", func(tx pgx.Tx) error { return f(tx, d) })
}

func (s *Store) takeAngler(ctx context.Context, tx pgx.Tx, name string, kind journal.AnglerKind) (journal.ID, error) {
	id, err := journal.NewID()
	if err != nil {
		return id, err
	}
	err = tx.QueryRow(ctx, `WITH made AS (INSERT INTO angler (outfit_id, id, name, kind) VALUES ($1, $2, $3, $4)
			ON CONFLICT (outfit_id, lower(name)) DO NOTHING RETURNING id)
		SELECT id FROM made UNION ALL SELECT id FROM angler WHERE outfit_id = $1 AND lower(name) = lower($3) LIMIT 1`, s.outfit, id, name, kind).Scan(&id)
	return id, err
}

// takeWater makes a water of kind other, in the outfit's time zone unless another is given.
func (s *Store) takeWater(ctx context.Context, tx pgx.Tx, name, timeZone string) (journal.ID, error) {
	id, err := journal.NewID()
	if err != nil {
		return id, err
	}
	err = tx.QueryRow(ctx, `WITH made AS (INSERT INTO water (outfit_id, id, name, kind, time_zone)
			SELECT $1::uuid, $2::uuid, $3::text, $4::text, coalesce(nullif($5, ''), time_zone) FROM outfit WHERE id = $1
			ON CONFLICT (outfit_id, lower(name)) DO NOTHING RETURNING id)
		SELECT id FROM made UNION ALL SELECT id FROM water WHERE outfit_id = $1 AND lower(name) = lower($3) LIMIT 1`, s.outfit, id, name, journal.WaterOther, timeZone).Scan(&id)
	return id, err
}

func (s *Store) takeBeat(ctx context.Context, tx pgx.Tx, water journal.ID, name string) (journal.ID, error) {
	id, err := journal.NewID()
	if err != nil {
		return id, err
	}
	err = tx.QueryRow(ctx, `WITH made AS (INSERT INTO beat (outfit_id, id, water_id, name) VALUES ($1, $2, $3, $4)
			ON CONFLICT (outfit_id, water_id, lower(name)) DO NOTHING RETURNING id)
		SELECT id FROM made UNION ALL SELECT id FROM beat WHERE outfit_id = $1 AND water_id = $3 AND lower(name) = lower($4) LIMIT 1`, s.outfit, id, water, name).Scan(&id)
	return id, err
}
