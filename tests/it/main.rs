//! Tests by user role and by source.
