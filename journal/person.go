package journal

// Role is what a person may do in an outfit.
type Role string

// The roles. An owner may do everything; a guide logs for the outfit's anglers and sees its sessions, but neither
// people nor settings; a client is one angler of the outfit and sees what is that angler's own.
const (
	RoleOwner  Role = "owner"
	RoleGuide  Role = "guide"
	RoleClient Role = "client"
)

// Who is somebody who works with an outfit's journal.
type Who struct {
	Role   Role
	Name   string // as shown beside what they write
	Person *ID    // nil at the machine that keeps the journal
	Angler *ID    // whom of the outfit's anglers they are, if any; a client is one
}

// Keeper is who works at the machine that keeps the journal, and may do everything.
func Keeper() Who { return Who{Role: RoleOwner, Name: "the owner"} }

// IsClient reports whether only an angler's own is shown.
func (w Who) IsClient() bool { return w.Role == RoleClient }
