"""What is printed or carried away: the bench sheet, the calendar file, the order."""
