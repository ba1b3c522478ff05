#include "textflag.h"

// func addFourRows(to, a, b, c, d *float64, w *[4]float64, n int)
//
//	DI to    SI, R8, R9, R10 the rows    AX the element    CX how many are left
//	X0 to X3 the weights, twice each     X4 to X11 of two elements, and of the next two
TEXT ·addFourRows(SB), NOSPLIT, $0-56
	MOVQ to+0(FP), DI
	MOVQ a+8(FP), SI
	MOVQ b+16(FP), R8
	MOVQ c+24(FP), R9
	MOVQ d+32(FP), R10
	MOVQ w+40(FP), BX
	MOVQ n+48(FP), CX
	XORQ AX, AX
	MOVSD 0(BX), X0
	MOVSD 8(BX), X1
	MOVSD 16(BX), X2
	MOVSD 24(BX), X3
	UNPCKLPD X0, X0
	UNPCKLPD X1, X1
	UNPCKLPD X2, X2
	UNPCKLPD X3, X3
	SUBQ $4, CX
	JLT  rest

four:
	MOVUPD (SI)(AX*8), X4
	MOVUPD 16(SI)(AX*8), X8
	MOVUPD (R8)(AX*8), X5
	MOVUPD 16(R8)(AX*8), X9
	MULPD  X0, X4
	MULPD  X0, X8
	MOVUPD (R9)(AX*8), X6
	MOVUPD 16(R9)(AX*8), X10
	MULPD  X1, X5
	MULPD  X1, X9
	MOVUPD (R10)(AX*8), X7
	MOVUPD 16(R10)(AX*8), X11
	MULPD  X2, X6
	MULPD  X2, X10
	ADDPD  X5, X4
	ADDPD  X9, X8
	MULPD  X3, X7
	MULPD  X3, X11
	ADDPD  X6, X4
	ADDPD  X10, X8
	MOVUPD (DI)(AX*8), X12
	MOVUPD 16(DI)(AX*8), X13
	ADDPD  X7, X4
	ADDPD  X11, X8
	ADDPD  X4, X12
	ADDPD  X8, X13
	MOVUPD X12, (DI)(AX*8)
	MOVUPD X13, 16(DI)(AX*8)
	ADDQ   $4, AX
	SUBQ   $4, CX
	JGE    four

rest:
	ADDQ $4, CX
	JZ   done

one:
	MOVSD (SI)(AX*8), X4
	MOVSD (R8)(AX*8), X5
	MOVSD (R9)(AX*8), X6
	MOVSD (R10)(AX*8), X7
	MULSD X0, X4
	MULSD X1, X5
	MULSD X2, X6
	MULSD X3, X7
	ADDSD X5, X4
	ADDSD X6, X4
	ADDSD X7, X4
	ADDSD (DI)(AX*8), X4
	MOVSD X4, (DI)(AX*8)
	INCQ  AX
	DECQ  CX
	JNZ   one

done:
	RET
