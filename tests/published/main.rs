//! Checks against published values, one module per source.

mod forecast_method;
