"""The screens of the coach: one sitting shown in a terminal of 40 by 12 or larger."""
