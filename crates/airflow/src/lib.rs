//! Pressure network: elements, solver, transport.
