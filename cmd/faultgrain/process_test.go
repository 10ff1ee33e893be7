package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"testing"
	"time"
)

// argsEnv holds, as JSON, what the re-executed test binary runs the program with.
const argsEnv = "FAULTGRAIN_TEST_ARGS"

func TestMain(m *testing.M) {
	if text := os.Getenv(argsEnv); text != "" {
		var args []string
		if err := json.Unmarshal([]byte(text), &args); err != nil {
			panic(err)
		}
		os.Args = append(os.Args[:1], args...)
		main()
	}
	os.Exit(m.Run())
}

// A process is the program, started in a folder.
type process struct {
	*exec.Cmd
	out, err bytes.Buffer
}

func start(t *testing.T, dir string, args ...string) *process {
	t.Helper()
	text, err := json.Marshal(args)
	if err != nil {
		t.Fatal(err)
	}
	p := &process{Cmd: exec.Command(os.Args[0])}
	p.Dir, p.Env = dir, append(os.Environ(), argsEnv+"="+string(text))
	p.Stdout, p.Stderr = &p.out, &p.err
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	return p
}

// killAfter starts the program and kills it when so much time has gone; it tells whether the program was still at it.
func killAfter(t *testing.T, dir string, wait time.Duration, args ...string) bool {
	t.Helper()
	p := start(t, dir, args...)
	time.Sleep(wait)
	_ = p.Process.Kill() // may be done
	return p.Wait() != nil
}

// done runs the program to its end.
func done(t *testing.T, dir string, args ...string) (took time.Duration) {
	t.Helper()
	begin := time.Now()
	p := start(t, dir, args...)
	if err := p.Wait(); err != nil {
		t.Fatalf("%v: %v: %s", args, err, p.err.String())
	}
	return time.Since(begin)
}

// A staged process tells when it comes to a stage.
type staged struct {
	*exec.Cmd
	began  time.Time
	stages chan string
	said   []string // once ended
}

func startStaged(t *testing.T, dir string, args ...string) *staged {
	t.Helper()
	text, err := json.Marshal(args)
	if err != nil {
		t.Fatal(err)
	}
	p := &staged{Cmd: exec.Command(os.Args[0]), stages: make(chan string)}
	p.Dir, p.Env = dir, append(os.Environ(), argsEnv+"="+string(text))
	talk, err := p.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.began = time.Now()
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(p.stages)
		for lines := bufio.NewScanner(talk); lines.Scan(); {
			p.said = append(p.said, lines.Text())
			p.stages <- lines.Text()
		}
	}()
	return p
}

// end waits for the process.
func (p *staged) end() error {
	for range p.stages {
	}
	return p.Wait()
}
