package journal

import "time"

// Roles are all roles, those who may do most first.
func Roles() []Role { return []Role{RoleOwner, RoleGuide, RoleClient} }

// Member is a person who belongs to an outfit.
type Member struct {
	Person ID
	Name   string // as shown beside what they write
	Role   Role
	Angler *ID // whom of the outfit's anglers they are, if any; a client is one
	Since  time.Time
}

// InvitationDays is how long an invitation can be used.
const InvitationDays = 7

// Invitation is a link that makes somebody a member, or lets a member in who can't sign in any more. It works once.
type Invitation struct {
	ID        ID
	Name      string
	Role      Role
	Angler    *ID // whom of the outfit's anglers they are
	Person    *ID // whose way back it is; nil: it makes a member
	CreatedAt time.Time
	ExpiresAt time.Time
}

// Removal is what becomes of a member's sessions when the member is removed.
type Removal string

// Keep leaves sessions under the angler's name; nameless keeps them under a name that says nothing; delete takes them out.
const (
	RemoveKeep     Removal = "keep"
	RemoveNameless Removal = "nameless"
	RemoveDelete   Removal = "delete"
)

// Validate checks the removal.
func (r Removal) Validate() error {
	if r != RemoveKeep && r != RemoveNameless && r != RemoveDelete {
		return Invalidf("choose what becomes of the sessions: keep, nameless or delete")
	}
	return nil
}

// Validate checks a member by itself.
func (m Member) Validate() error {
	r := aboutPerson(m.Name, m.Role)
	r.require(m.Role != RoleClient || m.Angler != nil, "a client sees what is one angler's; choose which")
	return r.err()
}

// Validate checks an invitation by itself. One for a client may name no angler: it makes one.
func (i Invitation) Validate() error { return aboutPerson(i.Name, i.Role).err() }

func aboutPerson(name string, role Role) *rules {
	var r rules
	r.name("the person", name)
	r.require(role != "", "choose what they are: owner, guide or client")
	r.check(oneOf("role", role, Roles()))
	return &r
}
