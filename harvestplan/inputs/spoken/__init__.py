"""What people say, understood: dates, hours, amounts and foods. Where two readings are possible it
is asked which, and nothing is guessed in silence."""
