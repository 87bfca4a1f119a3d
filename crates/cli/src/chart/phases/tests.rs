//! What is drawn where.
