"""What the joint carries: strings, forces, margins of strength, tongue and top."""
