package imports

type job struct{}

func (j *job) over() bool { return true }
