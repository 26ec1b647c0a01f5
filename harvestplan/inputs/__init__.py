"""Reading and validating what people write: season files, crop files, weather, busy calendars."""
