"""The steps of chains, one class each; `step_kind` tells what a step says."""
