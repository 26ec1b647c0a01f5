"""A new season folder: from an example, from answers, or from last year's."""
