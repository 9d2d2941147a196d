package command

import (
	"fmt"
	"os/exec"
	"runtime"
)

// AtDesktop reports whether a browser could be opened for the person who ran this.
func (p *Program) AtDesktop() bool {
	if p.Settings.NoBrowser || !p.Reads {
		return false
	}
	return runtime.GOOS == "darwin" || runtime.GOOS == "windows" || p.Env["DISPLAY"] != "" || p.Env["WAYLAND_DISPLAY"] != ""
}

func openBrowser(url string) error {
	opener := []string{"xdg-open"}
	switch runtime.GOOS {
	case "darwin":
		opener = []string{"open"}
	case "windows":
		opener = []string{"rundll32", "url.dll,FileProtocolHandler"}
	}
	cmd := exec.Command(opener[0], append(opener[1:], url)...)
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("open a browser: %w", err)
	}
	go func() { _ = cmd.Wait() }() // whether it shows the page, the person sees
	return nil
}
