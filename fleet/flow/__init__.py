"""The whole chain for one question: commands and pages ask here, and decide nothing."""
