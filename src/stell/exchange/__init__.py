"""Files in and out: sheets, calendars, electronic identities, open JSON."""
