"""Which lot goes into which session as which product, and every minute of each session."""
