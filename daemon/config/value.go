package config

import (
	"fmt"
	"time"

	"github.com/pelletier/go-toml/v2"
)

// typeName says what a person wrote, in words.
func typeName(v any) string {
	switch v.(type) {
	case string:
		return "a text"
	case int64, float64:
		return "a number"
	case bool:
		return "true or false"
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	case time.Time, toml.LocalDate, toml.LocalDateTime, toml.LocalTime:
		return "a date or time"
	}
	return fmt.Sprintf("%T", v)
}

func asTime(v any, zone *time.Location) (time.Time, bool) {
	switch t := v.(type) {
	case time.Time:
		return t, true
	case toml.LocalDate:
		return t.AsTime(zone), true
	case toml.LocalDateTime:
		return t.AsTime(zone), true
	}
	return time.Time{}, false
}
