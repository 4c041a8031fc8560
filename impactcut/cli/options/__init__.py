"""What commands are told: options they share, who acts, who measures, what shells complete."""
