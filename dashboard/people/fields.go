package people

import "wetside/dashboard/web"

var (
	nameField  = web.Field{Name: "name", Label: "Name"}
	scopeField = web.Field{Name: "scope", Label: "What the program may do"}
	sitesField = web.Field{Name: "sites", Label: "Sites"}
	roleField  = web.Field{Name: "role", Label: "Role"}
)
