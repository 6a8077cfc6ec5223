"""What the user wrote, validated and frozen; the timeline of the year; errors."""
