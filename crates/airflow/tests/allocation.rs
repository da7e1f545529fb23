//! Solving allocates nothing.

mod random;

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use airflow::{BatchSolver, Solver};
use random::{Random, any};

thread_local! {
    static COUNT: Cell<usize> = const { Cell::new(0) };
}

/// The allocator of the system, which counts the allocations of each thread.
struct Counting;

// SAFETY: hands everything on to the allocator of the system.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        COUNT.with(|count| count.set(count.get() + 1));
        // SAFETY: the caller keeps the contract of `alloc`.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        // SAFETY: the caller keeps the contract of `dealloc`.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

fn allocations(run: impl FnOnce()) -> usize {
    let before = COUNT.with(Cell::get);
    run();
    COUNT.with(Cell::get) - before
}

#[test]
fn solving_allocates_nothing() {
    assert_eq!(allocations(|| drop(std::hint::black_box(vec![1u8]))), 1);
    for seed in 0..500 {
        let network = any(&mut Random(seed));
        let mut solver = Solver::new(&network).expect("well posed");
        let mut batch = BatchSolver::new(&network).expect("well posed");
        let element = network.element_ids().next().expect("an element");
        let mut sensitivity = vec![0.0; network.nodes().len()];
        let count = allocations(|| {
            assert!(solver.solve().is_ok());
            solver.set_drive(element, 1.0);
            assert!(solver.solve().is_ok());
            solver.pressure_sensitivity(element, 1.0, &mut sensitivity);
            assert!(batch.solve().iter().all(Result::is_ok));
        });
        assert_eq!(count, 0, "network {seed}");
    }
}
