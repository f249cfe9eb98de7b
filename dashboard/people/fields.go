package people

import "wetside/dashboard/web"

func nameField() web.Field  { return web.Field{Name: "name", Label: "Name"} }
func scopeField() web.Field { return web.Field{Name: "scope", Label: "What the program may do"} }
func sitesField() web.Field { return web.Field{Name: "sites", Label: "Sites"} }
func roleField() web.Field  { return web.Field{Name: "role", Label: "Role"} }
