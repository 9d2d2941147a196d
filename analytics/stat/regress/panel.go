package regress

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// panel is the working state of a shared frailty: rows cluster by cluster, those of a cluster
// with equal covariates in one, over the columns that can be estimated.
type panel struct {
	kept   []int       // columns of the design that are estimated
	cells  *sparseRows // those columns of each cell
	y      []float64   // events of each cell
	start  []int32     // cluster s owns rows start[s] to start[s+1]
	cell   []int32     // of each row
	t      []float64   // exposure of each row
	events []float64   // K of each cluster
	tail   []float64   // at j: how many of the clusters' events are the (j+1)th of their cluster
	parts  []panelPart // runs of clusters that may be read side by side

	beta []float64

	// At beta and the variance given to evaluate:
	rate     []float64 // of each cell
	mean     []float64 // M of each cluster
	weight   []float64 // (1 + c²K)/(1 + c²M) of each cluster
	logLik   float64   // but for Σ k·log t − log k!
	score    []float64 // of the coefficients
	scoreLog float64   // of log c²
	complete []float64 // X'WX with W the rows' expectation given their clusters' weights, upper triangle
	info     []float64 // minus the Hessian of the coefficients, upper triangle
	cross    []float64 // minus the Hessian between coefficients and log c²
	infoLog  float64   // minus the Hessian of log c²
}

// panelPart is what is added up over a run of clusters.
type panelPart struct {
	from, to                  int
	weighted                  []float64 // of each cell: Σ exposure·weight
	outer                     []float64 // Σ c²·weight/(1 + c²M)·mm', upper triangle
	cross                     []float64
	logLik, scoreLog, infoLog float64
}

// manyRows are worth reading side by side, in so many parts whatever the machine, so that
// sums come out alike everywhere.
const (
	manyRows   = 50_000
	panelParts = 4
)

// newPanel lays the rows out, starting at the coefficients of a fit.
func newPanel(fit *Fit, rows Rows) (*panel, error) {
	p := &panel{kept: keptColumns(len(fit.Coef), fit.Aliased), y: rows.Cells.Y, cells: newSparseRows(rows.Cells).without(fit.Aliased)}
	if err := p.lay(rows); err != nil {
		return nil, err
	}
	n, clusters := p.cells.p, len(p.events)
	p.beta, p.score, p.cross = make([]float64, n), make([]float64, n), make([]float64, n)
	for k, j := range p.kept {
		p.beta[k] = fit.Coef[j]
	}
	p.rate, p.mean, p.weight = make([]float64, p.cells.rows()), make([]float64, clusters), make([]float64, clusters)
	p.complete, p.info = make([]float64, n*n), make([]float64, n*n)
	p.countTail()
	p.parts = make([]panelPart, 1)
	if len(p.cell) >= manyRows {
		p.parts = make([]panelPart, panelParts)
	}
	for i := range p.parts {
		p.parts[i] = panelPart{from: i * clusters / len(p.parts), to: (i + 1) * clusters / len(p.parts),
			weighted: make([]float64, p.cells.rows()), outer: make([]float64, n*n), cross: make([]float64, n)}
	}
	return p, nil
}

// lay puts the rows cluster by cluster, in which order they mostly come, and sums those of the same cell.
func (p *panel) lay(rows Rows) error {
	n, last, sorted := 0, 0, true
	p.events = make([]float64, rows.Clusters)
	err := rows.each(func(s, _ int, y, _ float64) {
		n++
		sorted = sorted && s >= last
		last = s
		p.events[s] += y
	})
	if err != nil {
		return err
	}
	at := make([]int32, p.cells.rows()) // of each cell: one more than its last row
	p.start = make([]int32, 1, rows.Clusters+1)
	p.cell, p.t = make([]int32, 0, n), make([]float64, 0, n)
	add := func(s, c int, _, exposure float64) {
		for s >= len(p.start) {
			p.start = append(p.start, int32(len(p.cell)))
		}
		if at[c] > p.start[s] {
			p.t[at[c]-1] += exposure
			return
		}
		p.cell, p.t = append(p.cell, int32(c)), append(p.t, exposure)
		at[c] = int32(len(p.cell))
	}
	if sorted {
		rows.All(add)
	} else {
		sortedRows(rows, n, add)
	}
	for len(p.start) <= rows.Clusters {
		p.start = append(p.start, int32(len(p.cell)))
	}
	return nil
}

// sortedRows calls add for each of n rows, cluster by cluster.
func sortedRows(rows Rows, n int, add func(s, c int, y, exposure float64)) {
	cluster, cell, t := make([]int32, 0, n), make([]int32, 0, n), make([]float64, 0, n)
	rows.All(func(s, c int, _, exposure float64) {
		cluster, cell, t = append(cluster, int32(s)), append(cell, int32(c)), append(t, exposure)
	})
	for _, row := range byCluster(cluster, rows.Clusters) {
		add(int(cluster[row]), int(cell[row]), 0, t[row])
	}
}

// byCluster lists rows cluster by cluster, each in its own order.
func byCluster(cluster []int32, clusters int) []int32 {
	next := make([]int32, clusters+1)
	for _, s := range cluster {
		next[s+1]++
	}
	for s := range clusters {
		next[s+1] += next[s]
	}
	order := make([]int32, len(cluster))
	for row, s := range cluster {
		order[next[s]] = int32(row)
		next[s]++
	}
	return order
}

// countTail counts the clusters with more than j events; of a part of an event, that part.
func (p *panel) countTail() {
	for _, k := range p.events {
		for len(p.tail) < int(math.Ceil(k)) {
			p.tail = append(p.tail, 0)
		}
		whole := int(k)
		for j := range whole {
			p.tail[j]++
		}
		if rest := k - float64(whole); rest > 0 {
			p.tail[whole] += rest
		}
	}
}

// evaluate fills the state at beta and the variance c2. A cluster of K events, where M are
// expected, has the log-likelihood Σ over rows of k·xb, plus Σ over j < K of
// log(1 + jc²), minus (K + 1/c²)·log(1 + c²M): that of §11 with lnΓ(K + 1/c²) − lnΓ(1/c²)
// written out.
func (p *panel) evaluate(c2 float64) {
	p.logLik = 0
	for c, y := range p.y {
		eta := p.cells.dot(c, p.beta)
		p.rate[c] = math.Exp(eta)
		if y > 0 {
			p.logLik += y * eta
		}
	}
	p.scoreLog, p.infoLog = 0, 0
	for j, n := range p.tail {
		x := float64(j) * c2
		p.logLik += n * math.Log1p(x)
		p.scoreLog += n * x / (1 + x)
		p.infoLog -= n * x / ((1 + x) * (1 + x))
	}
	if len(p.parts) == 1 {
		p.read(&p.parts[0], c2)
	} else {
		var wait sync.WaitGroup
		for i := range p.parts {
			wait.Go(func() { p.read(&p.parts[i], c2) })
		}
		wait.Wait()
	}
	p.gather()
}

// read adds up over a run of clusters.
func (p *panel) read(part *panelPart, c2 float64) {
	clear(part.weighted)
	clear(part.outer)
	clear(part.cross)
	part.logLik, part.scoreLog, part.infoLog = 0, 0, 0
	m := make([]float64, p.cells.p) // Σ x·exposure·rate of the cluster
	for s := part.from; s < part.to; s++ {
		first, end := p.start[s], p.start[s+1]
		mean := 0.0
		for row := first; row < end; row++ {
			mean += p.t[row] * p.rate[p.cell[row]]
		}
		k, inflated := p.events[s], 1+c2*mean
		weight := (1 + c2*k) / inflated
		p.mean[s], p.weight[s] = mean, weight
		for row := first; row < end; row++ {
			part.weighted[p.cell[row]] += p.t[row] * weight
		}
		if c2 == 0 {
			part.logLik -= mean
			continue
		}
		logs := math.Log1p(c2 * mean)
		part.logLik -= (k + 1/c2) * logs
		part.scoreLog += logs/c2 - weight*mean
		turn := c2 * (k - mean) / (inflated * inflated) // what log c² changes of the weight
		part.infoLog += logs/c2 - mean/inflated + mean*turn
		p.sumRows(s, m)
		addUpper(part.outer, m, c2*weight/inflated)
		for j, v := range m {
			part.cross[j] += turn * v
		}
	}
}

// sumRows makes m the sum of x·exposure·rate over the rows of a cluster.
func (p *panel) sumRows(s int, m []float64) {
	clear(m)
	for row := p.start[s]; row < p.start[s+1]; row++ {
		mu := p.t[row] * p.rate[p.cell[row]]
		col, val := p.cells.row(int(p.cell[row]))
		for i, j := range col {
			m[j] += mu * val[i]
		}
	}
}

// gather adds the parts up, in order.
func (p *panel) gather() {
	clear(p.complete)
	clear(p.score)
	clear(p.cross)
	weighted := p.parts[0].weighted
	for i := range p.parts {
		part := &p.parts[i]
		p.logLik += part.logLik
		p.scoreLog += part.scoreLog
		p.infoLog += part.infoLog
		for j, v := range part.cross {
			p.cross[j] += v
		}
		if i > 0 {
			for c, v := range part.weighted {
				weighted[c] += v
			}
		}
	}
	for c, y := range p.y {
		mu := p.rate[c] * weighted[c]
		col, val := p.cells.row(c)
		for i, j := range col {
			p.score[j] += (y - mu) * val[i]
		}
		p.cells.addOuter(p.complete, c, mu)
	}
	copy(p.info, p.complete)
	for i := range p.parts {
		for j, v := range p.parts[i].outer {
			p.info[j] -= v
		}
	}
}

// full is minus the Hessian of the coefficients and log c².
func (p *panel) full() *mat.SymDense {
	n := p.cells.p
	full := mat.NewSymDense(n+1, nil)
	for i := range n {
		for j := i; j < n; j++ {
			full.SetSym(i, j, p.info[i*n+j])
		}
		full.SetSym(i, n, p.cross[i])
	}
	full.SetSym(n, n, p.infoLog)
	return full
}

// scores calls f with each cluster's score of the coefficients, which f must not keep.
func (p *panel) scores(rows Rows, f func(cluster int, score []float64)) error {
	n := p.cells.p
	all := make([]float64, len(p.events)*n)
	err := rows.each(func(s, c int, y, exposure float64) {
		r := y - exposure*p.rate[c]*p.weight[s]
		col, val := p.cells.row(c)
		score := all[s*n : (s+1)*n]
		for i, j := range col {
			score[j] += r * val[i]
		}
	})
	if err != nil {
		return fmt.Errorf("score clusters: %w", err)
	}
	for s := range p.events {
		if p.start[s] < p.start[s+1] {
			f(s, all[s*n:(s+1)*n])
		}
	}
	return nil
}
