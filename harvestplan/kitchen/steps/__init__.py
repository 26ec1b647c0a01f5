"""The steps of chains, one class each: see `step_kind` for what a step says, `all_steps` for all."""
