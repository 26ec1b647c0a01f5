"""From the solved season to the plan that people read."""
