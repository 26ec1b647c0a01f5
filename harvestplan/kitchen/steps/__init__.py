"""The steps of chains, one class each: see `step_kind` for what each says, `all_steps` for all."""
