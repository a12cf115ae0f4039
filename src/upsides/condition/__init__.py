"""What a horse has done; fit, fresh, anything for the vet: each with its reasons, none folded into one number."""
